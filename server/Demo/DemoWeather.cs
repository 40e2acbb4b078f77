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

/// <summary>Invented weather, the same at every run.</summary>
internal static class DemoWeather
{
    private const double LatitudeDegrees = 37.4;
    private const double LongitudeDegrees = -97.0;

    // The frosty day by hours since its midnight: the cloud of the mild day before breaks at two, cold air flows in until after sunrise,
    // and from nine on a wind from the south brings mild air.
    private static readonly (double Hour, double AirCelsius, double DewPointCelsius, double WindMetersPerSecond, double CloudFraction)[] Frost =
    [
        (-24, 6, 4, 2, 1), (-9, 10, 6, 3, 1), (-2, 8, 5.5, 2.5, 1), (2, 6, 3.5, 2.5, 1), (3.5, 4, 1.5, 1.2, 0), (4.5, 2, -0.5, 0.8, 0),
        (6, -3, -4, 0.4, 0), (7.5, -7.5, -8.2, 0.2, 0), (8.25, -7, -8, 0.2, 0), (9.25, -2.5, -5, 0.8, 0), (10, 1, -3.5, 2, 0),
        (11, 5, -2.5, 3, 0), (12, 7.5, -2, 3.5, 0), (15, 10, -2, 3.5, 0), (18, 5, -2, 1.5, 0), (21, 2, -2, 1, 0), (26, 0, -2, 1, 0),
    ];

    /// <summary>Hot clear days, each a little different, and one cloud bank at 15:10 of the hot day.</summary>
    public static DemoSky Summer(DateTimeOffset at)
    {
        var local = DemoDay.Summer.Local(at);
        var day = DayOf(local);
        var hour = local.TimeOfDay.TotalHours;
        var hotDay = local.Date == DemoDay.Summer.Local(DemoDay.Summer.Morning).Date;

        var cloud = CloudFraction(day, hour, hotDay);
        var warmth = hotDay ? 2.5 : 4.0 * (Noise(day, 1) - 0.6);
        // Coolest about six, warmest about four in the afternoon; cloud takes a little off the top.
        var air = 27.5 + warmth + (7.2 * Math.Cos((hour - 16) / 24 * 2 * Math.PI)) - (2.0 * cloud);
        var dewPoint = 16 + (3 * (Noise(day, 2) - 0.5));
        var wind = 1.2 + (2.2 * Noise(day, 3) * Math.Max(0, Math.Sin((hour - 7) / 14 * Math.PI)));
        return Sky(at, air, dewPoint, wind, cloud);
    }

    /// <summary>Mild and cold, clear and dull days, each going over into the next, and the frosty day.</summary>
    public static DemoSky Winter(DateTimeOffset at)
    {
        var local = DemoDay.Winter.Local(at);
        var (day, hour) = (DayOf(local), local.TimeOfDay.TotalHours);
        // From noon to noon.
        var (before, share) = hour < 12 ? (day - 1, (hour + 12) / 24) : (day, (hour - 12) / 24);
        double Drawn(int purpose) => Between(Noise(before, purpose), Noise(before + 1, purpose), share);
        var cloud = Math.Clamp((2.4 * Drawn(10)) - 0.7, 0, 1);
        var mean = 2.5 + (9 * (Drawn(11) - 0.5));
        // Coldest at seven, warmest at three; cloud keeps both away.
        var swing = hour is >= 7 and <= 15 ? -Math.Cos((hour - 7) / 8 * Math.PI) : Math.Cos(((hour + 9) % 24) / 16 * Math.PI);
        var air = mean + (5.5 * (1 - (0.6 * cloud)) * swing);
        var dewPoint = Math.Min(air - 0.3, mean - 3 + (3 * (Drawn(12) - 0.5)));
        var wind = 1 + (2.5 * Drawn(13) * Math.Max(0, Math.Sin((hour - 8) / 10 * Math.PI)));

        var hours = (at - DemoDay.Winter.Midnight).TotalHours;
        var frosty = Math.Clamp((hours + 30) / 6, 0, 1) * Math.Clamp((26 - hours) / 4, 0, 1);
        if (frosty == 0)
            return Sky(at, air, dewPoint, wind, cloud);
        var right = Math.Clamp(Array.FindIndex(Frost, row => row.Hour > hours), 1, Frost.Length - 1);
        var (from, to) = (Frost[right - 1], Frost[right]);
        var between = Math.Clamp((hours - from.Hour) / (to.Hour - from.Hour), 0, 1);
        return Sky(
            at,
            Between(air, Between(from.AirCelsius, to.AirCelsius, between), frosty),
            Between(dewPoint, Between(from.DewPointCelsius, to.DewPointCelsius, between), frosty),
            Between(wind, Between(from.WindMetersPerSecond, to.WindMetersPerSecond, between), frosty),
            Between(cloud, Between(from.CloudFraction, to.CloudFraction, between), frosty));
    }

    private static DemoSky Sky(DateTimeOffset at, double airCelsius, double dewPointCelsius, double windMetersPerSecond, double cloudFraction)
    {
        var elevation = SolarPosition.At(at, LatitudeDegrees, LongitudeDegrees).ElevationDegrees;
        var humidity = 100 * Math.Exp((17.62 * dewPointCelsius / (243.12 + dewPointCelsius)) - (17.62 * airCelsius / (243.12 + airCelsius)));
        var sun = ClearSky.GlobalWattsPerSquareMeter(elevation) * (1 - (0.72 * cloudFraction));
        return new DemoSky(airCelsius, Math.Clamp(humidity, 5, 100), windMetersPerSecond, sun, cloudFraction);
    }

    private static int DayOf(DateTime local) => local.Date.Subtract(DateTime.UnixEpoch).Days;

    private static double Between(double from, double to, double share) => from + ((to - from) * share);

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
