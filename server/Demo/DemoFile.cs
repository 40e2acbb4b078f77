using System.Globalization;

namespace PavementWatch.Server.Demo;

/// <summary>What a probe and the mast of the invented town would have measured over some weeks, as a table that <c>backtest</c> reads.</summary>
internal static class DemoFile
{
    /// <summary>How many days it holds, up to the morning of the day that the demo runs.</summary>
    public const int Days = 45;

    private const int StepMinutes = 30;

    // What an honest probe scatters by, our choice.
    private const double SurfaceNoiseKelvin = 0.4;
    private const double AirNoiseKelvin = 0.2;

    /// <summary>Writes it: a row for each half-hour, its time the end of it.</summary>
    /// <param name="day">The day before which they lie.</param>
    /// <param name="spot">Whose ground.</param>
    /// <param name="into">Where to.</param>
    /// <returns>How many rows there are.</returns>
    public static int Write(DemoDay day, DemoSpot spot, TextWriter into)
    {
        var from = day.Morning.AddDays(-Days);
        var ground = new DemoGround(day, [spot], from);
        // The same file each time.
        var random = new Random(1);
        into.WriteLine("time_utc,air_celsius,surface_celsius,humidity_percent,wind_mps,solar_wm2");
        var rows = 0;
        for (var at = from.AddMinutes(StepMinutes); at <= day.Morning; at = at.AddMinutes(StepMinutes))
        {
            double air = 0, surface = 0, humidity = 0, wind = 0, sun = 0;
            for (var minute = 0; minute < StepMinutes; minute++)
            {
                var sky = day.At(at.AddMinutes(-minute));
                air += sky.AirCelsius / StepMinutes;
                surface += ground.SurfaceCelsius(spot.Spot.Id, at.AddMinutes(-minute)) / StepMinutes;
                humidity += sky.HumidityPercent / StepMinutes;
                wind += sky.WindMetersPerSecond / StepMinutes;
                sun += sky.SolarWattsPerSquareMeter / StepMinutes;
            }

            into.WriteLine(string.Create(
                CultureInfo.InvariantCulture,
                $"{at.UtcDateTime:yyyy-MM-dd'T'HH:mm:ss'Z'},{air + Scatter(random, AirNoiseKelvin):F2},{surface + Scatter(random, SurfaceNoiseKelvin):F2},{humidity:F1},{wind:F1},{sun:F0}"));
            rows++;
        }

        return rows;
    }

    /// <summary>Nearly normal.</summary>
    private static double Scatter(Random random, double sigma) =>
        sigma * 2 * (random.NextDouble() + random.NextDouble() + random.NextDouble() - 1.5);
}
