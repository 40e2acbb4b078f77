using PavementWatch.Core.Sun;
using PavementWatch.Core.Weather;

namespace PavementWatch.Server.Demo;

/// <summary>The air, wind, sun and sky over Ferngate at one moment.</summary>
/// <param name="AirCelsius">[°C] Air.</param>
/// <param name="HumidityPercent">[%] Relative humidity.</param>
/// <param name="WindMetersPerSecond">[m/s] Wind.</param>
/// <param name="SolarWattsPerSquareMeter">[W/m²] Sun on level ground in the open.</param>
/// <param name="CloudFraction">0 clear to 1 overcast.</param>
internal readonly record struct DemoSky(
    double AirCelsius, double HumidityPercent, double WindMetersPerSecond,
    double SolarWattsPerSquareMeter, double CloudFraction)
{
    private const double StefanBoltzmann = 5.670374419e-8;

    /// <summary>[W/m²] Thermal radiation from the sky. Source: Brutsaert, Water Resources Research 11 (1975) 742, with the usual rise under cloud; from memory.</summary>
    public double LongwaveWattsPerSquareMeter
    {
        get
        {
            var airAbsoluteKelvin = AirCelsius + 273.15;
            var vapourHectopascal = 10 * HumidityPercent / 100 * VapourPressure.SaturationKilopascals(AirCelsius);
            var clear = 1.24 * Math.Pow(vapourHectopascal / airAbsoluteKelvin, 1.0 / 7);
            var emissivity = clear + ((1 - clear) * 0.8 * CloudFraction);
            return emissivity * StefanBoltzmann * Math.Pow(airAbsoluteKelvin, 4);
        }
    }
}

/// <summary>Invented weather: hot clear days, each a little different, and one cloud bank at 15:10 of the hot day.</summary>
internal static class DemoWeather
{
    private const double LatitudeDegrees = 37.4;
    private const double LongitudeDegrees = -97.0;
    private const double LocalOffsetHours = -5;

    public static DemoSky At(DateTimeOffset at)
    {
        var local = at.ToUniversalTime().AddHours(LocalOffsetHours);
        var day = local.Date.Subtract(DateTime.UnixEpoch).Days;
        var hour = local.TimeOfDay.TotalHours;
        var hotDay = local.Date == DemoTown.Morning.AddHours(LocalOffsetHours).Date;

        var elevation = SolarPosition.At(at, LatitudeDegrees, LongitudeDegrees).ElevationDegrees;
        var cloud = CloudFraction(day, hour, hotDay);
        var warmth = hotDay ? 2.5 : 4.0 * (Noise(day, 1) - 0.6);
        // Coolest about six, warmest about four in the afternoon; cloud takes a little off the top.
        var air = 27.5 + warmth + (7.2 * Math.Cos((hour - 16) / 24 * 2 * Math.PI)) - (2.0 * cloud);
        var dewPoint = 16 + (3 * (Noise(day, 2) - 0.5));
        var humidity = 100 * Math.Exp((17.62 * dewPoint / (243.12 + dewPoint)) - (17.62 * air / (243.12 + air)));
        var wind = 1.2 + (2.2 * Noise(day, 3) * Math.Max(0, Math.Sin((hour - 7) / 14 * Math.PI)));
        var sun = ClearSky.GlobalWattsPerSquareMeter(elevation) * (1 - (0.72 * cloud));
        return new DemoSky(air, Math.Clamp(humidity, 5, 100), wind, sun, cloud);
    }

    private static double CloudFraction(int day, double hour, bool hotDay)
    {
        if (hotDay)
            return Bump(hour, 15 + (10.0 / 60), 35.0 / 60);
        // Each past day has up to two banks of cloud at its own hours.
        var first = Noise(day, 4) * Bump(hour, 10 + (6 * Noise(day, 5)), 0.5 + Noise(day, 6));
        var second = Noise(day, 7) * Bump(hour, 12 + (6 * Noise(day, 8)), 0.5 + (2 * Noise(day, 9)));
        return Math.Min(1, (first > 0.5 ? first : 0) + second);
    }

    /// <summary>Rises within six minutes of its beginning and is over after its length.</summary>
    private static double Bump(double hour, double beginsAt, double lengthHours)
    {
        const double edge = 0.1;
        return Math.Clamp((hour - beginsAt) / edge, 0, 1) * Math.Clamp((beginsAt + lengthHours - hour) / edge, 0, 1);
    }

    /// <summary>A fixed number from 0 to 1 for each day and purpose, so that every run shows the same days.</summary>
    private static double Noise(int day, int purpose)
    {
        unchecked
        {
            var mixed = ((uint)day * 2654435761u) ^ ((uint)purpose * 40503u * 977u);
            mixed ^= mixed >> 15;
            mixed *= 2246822519u;
            mixed ^= mixed >> 13;
            return mixed / (double)uint.MaxValue;
        }
    }
}
