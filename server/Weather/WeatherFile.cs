using PavementWatch.Core.Quantities;

namespace PavementWatch.Server.Weather;

/// <summary>Weather at one time, as somebody sent it.</summary>
/// <param name="At">End of the interval, UTC.</param>
internal readonly record struct WeatherValues(DateTimeOffset At)
{
    public double? AirCelsius { get; init; }

    public double? HumidityPercent { get; init; }

    public double? WindMetersPerSecond { get; init; }

    public double? SolarWattsPerSquareMeter { get; init; }

    public double? RainMillimeters { get; init; }

    public bool IsEmpty => this is { AirCelsius: null, HumidityPercent: null, WindMetersPerSecond: null, SolarWattsPerSquareMeter: null, RainMillimeters: null };
}

/// <summary>What reading a file of weather gave.</summary>
internal abstract record WeatherFileOutcome;

/// <summary>The file's rows in time order, each time once.</summary>
/// <param name="Rows">At least one.</param>
/// <param name="Remarks">What was mended on the way, in plain sentences.</param>
internal sealed record WeatherFile(IReadOnlyList<WeatherValues> Rows, IReadOnlyList<string> Remarks) : WeatherFileOutcome
{
    /// <summary>What the file says of itself; <c>null</c> where it says nothing.</summary>
    public WeatherKind? Kind { get; init; }

    /// <summary>When it says its forecast was made.</summary>
    public DateTimeOffset? IssuedAt { get; init; }
}

/// <summary>The file cannot be used; nothing of it is.</summary>
/// <param name="Where">Line and column, or path; empty when it is the whole file.</param>
/// <param name="Found">What was found.</param>
/// <param name="Expected">What was expected.</param>
/// <param name="Remedy">What to do about it.</param>
internal sealed record WeatherFault(string Where, string Found, string Expected, string Remedy) : WeatherFileOutcome
{
    public override string ToString() => $"{(Where.Length > 0 ? $"{Where}: " : "")}{Found}, expected {Expected}; {Remedy}";
}

/// <summary>What files of weather hold, however they are written.</summary>
internal static class WeatherFields
{
    /// <summary>Most rows of a file: two years of minutes.</summary>
    public const int MostRows = 1_100_000;

    public static readonly Field Air = new("air_celsius", "airCelsius", QuantityRanges.Air);
    public static readonly Field Humidity = new("humidity_percent", "humidityPercent", QuantityRanges.Humidity);
    public static readonly Field Wind = new("wind_mps", "windMetersPerSecond", QuantityRanges.Wind);
    public static readonly Field Solar = new("solar_wm2", "solarWattsPerSquareMeter", QuantityRanges.Solar);
    public static readonly Field Rain = new("rain_mm", "rainMillimeters", QuantityRanges.Rain);

    public static readonly IReadOnlyList<Field> All = [Air, Humidity, Wind, Solar, Rain];

    /// <summary>Sorts rows and keeps the first of each time.</summary>
    /// <returns>The file, or a fault when nothing is left of it.</returns>
    public static WeatherFileOutcome Tidy(List<WeatherValues> rows, List<string> remarks)
    {
        var empty = rows.RemoveAll(r => r.IsEmpty);
        if (rows.Count == 0)
            return new WeatherFault("", "no row with a value", "at least one", "check that the file holds weather");
        if (empty > 0)
            remarks.Add($"{empty} rows without any value were left out");
        var sorted = rows.OrderBy(r => r.At).ToList();
        if (!sorted.SequenceEqual(rows))
            remarks.Add("rows were out of order and have been sorted by time");
        var once = sorted.DistinctBy(r => r.At).ToList();
        if (once.Count < sorted.Count)
            remarks.Add($"{sorted.Count - once.Count} rows repeated a time; the first of each was kept");
        return new WeatherFile(once, remarks);
    }

    /// <summary>A quantity and the values it may have, inclusive.</summary>
    internal sealed record Field(string Column, string Property, QuantityRange Range)
    {
        public bool Holds(double value) => Range.Holds(value);

        public string Expected => $"a number from {Range}";
    }
}
