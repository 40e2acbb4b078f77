using PavementWatch.Core.Readings;
using PavementWatch.Core.Sun;
using PavementWatch.Core.Surfaces;
using PavementWatch.Core.Weather;

namespace PavementWatch.Core.Tests.Offsets;

/// <summary>An invented spot whose truth is known: surface = air + 24 K at a sun of 923 W/m², −2 K without, under a sky of its own each day.</summary>
internal static class SimulatedSpot
{
    public static readonly Spot Plaza =
        new(SpotId.Parse("north-gate-plaza"), "North Gate plaza", SurfaceKind.Asphalt, 37.4, -97.0, "America/Chicago");

    /// <summary>Local midnight.</summary>
    public static readonly DateTimeOffset Start = new(2030, 7, 1, 6, 0, 0, TimeSpan.Zero);

    /// <summary>Days of samples.</summary>
    /// <param name="days">How many.</param>
    /// <param name="seed">Of the clouds; <c>null</c> is a clear sky and days that differ in nothing.</param>
    /// <param name="stepMinutes">Between samples.</param>
    /// <param name="measured">What the sensor makes of day, air and true surface.</param>
    public static List<WeatherSample> Days(
        int days, int? seed = null, int stepMinutes = 30, Func<int, double, double, double>? measured = null)
    {
        var random = new Random(seed ?? 0);
        var samples = new List<WeatherSample>();
        var perDay = 24 * 60 / stepMinutes;
        double clearness = 1;
        double warmth = 0;
        for (var i = 1; i <= days * perDay; i++)
        {
            if (seed is not null && (i - 1) % perDay == 0)
                (clearness, warmth) = (0.3 + 0.7 * random.NextDouble(), 4 * random.NextDouble() - 2);
            var at = Start.AddMinutes((double)stepMinutes * i);
            var sun = ClearSky.GlobalWattsPerSquareMeter(SolarPosition.At(
                at.AddMinutes(-0.5 * stepMinutes), Plaza.LatitudeDegrees, Plaza.LongitudeDegrees).ElevationDegrees);
            var air = 25 + warmth + (3 + 4 * clearness) * Math.Sin(2 * Math.PI * (i % perDay / (double)perDay - 0.42));
            // The same 1.4 kPa of vapour all day.
            var humidity = Math.Min(100, 140 / (0.61094 * Math.Exp(17.625 * air / (air + 243.04))));
            var noise = seed is null ? 0 : 0.4 * (random.NextDouble() + random.NextDouble() + random.NextDouble() - 1.5);
            var surface = air - 2 + 0.026 * sun * clearness + noise;
            samples.Add(new WeatherSample(at, air)
            {
                HumidityPercent = humidity,
                SurfaceCelsius = measured is null ? surface : measured((i - 1) / perDay, air, surface),
            });
        }

        return samples;
    }
}
