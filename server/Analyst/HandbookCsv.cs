using PavementWatch.Core.Backtesting;
using PavementWatch.Core.Quantities;
using PavementWatch.Core.Weather;
using PavementWatch.Server.Tables;

namespace PavementWatch.Server.Analyst;

/// <summary>Reads surfaces measured for once, and the hourly weather of stations beside them.</summary>
internal static class HandbookCsv
{
    /// <summary>Reads <c>time_utc,surface_celsius[,kind][,station]</c>.</summary>
    /// <param name="reader">The file's text.</param>
    /// <param name="kind">Rows of which kind; <c>null</c> takes all.</param>
    /// <exception cref="TableException">The file cannot be used, or holds no such row; the message says where and why.</exception>
    public static IReadOnlyList<SurfaceScene> Scenes(TextReader reader, string? kind)
    {
        using var table = new TableReader(reader, "time_utc,kind,surface_celsius,station");
        var time = table.Required("time_utc");
        var surface = table.Required("surface_celsius", QuantityRanges.Surface);
        var (kinds, station) = (table.Column("kind"), table.Column("station"));
        if (kind is not null && !kinds.IsThere)
            throw table.Missing("kind", expected: "a column by which --kind picks rows");
        var scenes = new List<SurfaceScene>();
        var others = new SortedSet<string>(StringComparer.Ordinal);
        while (table.Next())
        {
            var of = table.Cell(kinds);
            if (kind is not null && of != kind)
                others.Add(of);
            else if (table.Number(surface) is { } celsius)
                scenes.Add(new SurfaceScene(table.Time(time), table.Cell(station), celsius));
        }

        return scenes.Count > 0
            ? scenes
            : throw table.Refuse(
                kind is null ? "no row with a surface" : $"no row of kind '{kind}' with a surface", "at least one",
                others.Count > 0 ? $"the kinds there are: {string.Join(", ", others)}" : "check that the file holds measurements");
    }

    /// <summary>Reads <c>time_utc,air_celsius[,station][,humidity_percent][,wind_mps][,solar_wm2]</c>.</summary>
    /// <param name="reader">The file's text.</param>
    /// <returns>By station, in time order, each time once; a row without air is left out.</returns>
    /// <exception cref="TableException">The file cannot be used; the message says where and why.</exception>
    public static IReadOnlyDictionary<string, IReadOnlyList<WeatherSample>> Weather(TextReader reader)
    {
        using var table = new TableReader(reader, "station,time_utc,air_celsius,humidity_percent,wind_mps,solar_wm2");
        var time = table.Required("time_utc");
        var air = table.Required("air_celsius", QuantityRanges.Air);
        var station = table.Column("station");
        var humidity = table.Column("humidity_percent", QuantityRanges.Humidity);
        var wind = table.Column("wind_mps", QuantityRanges.Wind);
        var solar = table.Column("solar_wm2", QuantityRanges.Solar);
        var rows = new Dictionary<string, List<WeatherSample>>(StringComparer.Ordinal);
        while (table.Next())
        {
            if (table.Number(air) is not { } celsius)
                continue;
            var name = table.Cell(station);
            if (!rows.TryGetValue(name, out var own))
                rows.Add(name, own = []);
            own.Add(new WeatherSample(table.Time(time), celsius)
            {
                HumidityPercent = table.Number(humidity),
                WindMetersPerSecond = table.Number(wind),
                SolarWattsPerSquareMeter = table.Number(solar) is { } sun ? Math.Max(0, sun) : null,
            });
        }

        return rows.Count > 0
            ? rows.ToDictionary(r => r.Key, IReadOnlyList<WeatherSample> (r) => [.. r.Value.OrderBy(s => s.At).DistinctBy(s => s.At)], StringComparer.Ordinal)
            : throw table.Refuse("no row with time and air", "at least one", "check that the file holds weather");
    }
}
