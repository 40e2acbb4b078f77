using System.Globalization;
using System.Text;
using PavementWatch.Core.Readings;

namespace PavementWatch.Server.Store;

/// <summary>What is said to InfluxDB: readings in line protocol, questions in Flux.</summary>
/// <remarks>
/// One series a spot: measurement <c>reading</c>, tag <c>spot</c>. Everything else is a field, so the same spot and
/// time is the same point. Spot names need no escaping (<see cref="SpotId"/>).
/// </remarks>
internal static class InfluxText
{
    /// <summary>One reading as a line; time in milliseconds.</summary>
    public static string Line(StoredReading stored)
    {
        var reading = stored.Reading;
        var line = new StringBuilder(160);
        line.Append("reading,spot=").Append(reading.Spot.Value)
            .Append(CultureInfo.InvariantCulture, $" received_at={stored.ReceivedAt.ToUnixTimeMilliseconds()}i")
            .Append(CultureInfo.InvariantCulture, $",quality=\"{QualityNames.Of(reading.Quality)}\"")
            .Append(CultureInfo.InvariantCulture, $",doubt=\"{QualityNames.Of(reading.Doubt)}\"");
        Field(line, "surface_celsius", reading.SurfaceCelsius);
        Field(line, "air_celsius", reading.AirCelsius);
        Field(line, "humidity_percent", reading.HumidityPercent);
        Field(line, "sensor_celsius", reading.SensorCelsius);
        Field(line, "light_lux", reading.LightLux);
        Field(line, "supply_volts", reading.SupplyVolts);
        return line.Append(CultureInfo.InvariantCulture, $" {reading.MeasuredAt.ToUnixTimeMilliseconds()}").ToString();
    }

    /// <summary>Every reading of a spot in a span, one row each.</summary>
    public static string Range(string bucket, SpotId spot, DateTimeOffset from, DateTimeOffset to) =>
        $"""
        from(bucket: {Quoted(bucket)})
          |> range(start: {Time(from)}, stop: {Time(to)})
          |> filter(fn: (r) => r._measurement == "reading" and r.spot == "{spot}")
          |> pivot(rowKey: ["_time"], columnKey: ["_field"], valueColumn: "_value")
          |> sort(columns: ["_time"])
        """;

    /// <summary>Which times some spots already have in a span. Every reading has <c>received_at</c>.</summary>
    public static string Times(string bucket, IEnumerable<SpotId> spots, DateTimeOffset from, DateTimeOffset to) =>
        $"""
        from(bucket: {Quoted(bucket)})
          |> range(start: {Time(from)}, stop: {Time(to)})
          |> filter(fn: (r) => r._measurement == "reading" and r._field == "received_at")
          |> filter(fn: (r) => {string.Join(" or ", spots.Select(spot => $"r.spot == \"{spot}\""))})
          |> keep(columns: ["_time", "spot"])
        """;

    /// <summary>The time of each spot's newest reading.</summary>
    public static string NewestTimes(string bucket) =>
        $"""
        from(bucket: {Quoted(bucket)})
          |> range(start: 1970-01-01T00:00:00Z)
          |> filter(fn: (r) => r._measurement == "reading" and r._field == "received_at")
          |> last()
          |> keep(columns: ["_time", "spot"])
        """;

    /// <summary>The time of one spot's newest reading up to a moment, in whole milliseconds.</summary>
    public static string NewestTime(string bucket, SpotId spot, DateTimeOffset until) =>
        $"""
        from(bucket: {Quoted(bucket)})
          |> range(start: 1970-01-01T00:00:00Z, stop: {Time(DateTimeOffset.FromUnixTimeMilliseconds(until.ToUnixTimeMilliseconds()).AddMilliseconds(1))})
          |> filter(fn: (r) => r._measurement == "reading" and r._field == "received_at" and r.spot == "{spot}")
          |> last()
          |> keep(columns: ["_time", "spot"])
        """;

    private static void Field(StringBuilder line, string name, double? value)
    {
        if (value is { } v)
            line.Append(CultureInfo.InvariantCulture, $",{name}={v:R}");
    }

    private static string Time(DateTimeOffset moment) =>
        moment.ToUniversalTime().ToString("yyyy-MM-ddTHH:mm:ss.fffffffZ", CultureInfo.InvariantCulture);

    private static string Quoted(string text) =>
        "\"" + text.Replace("\\", "\\\\").Replace("\"", "\\\"").Replace("${", "\\${") + "\"";
}
