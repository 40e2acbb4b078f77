using System.Text;
using System.Text.Json;
using System.Text.Json.Serialization;
using PavementWatch.Server.Tables;

namespace PavementWatch.Server.Weather;

/// <summary>Weather as programs send it.</summary>
/// <param name="Rows">In any order.</param>
internal sealed record WeatherBody(IReadOnlyList<WeatherBodyRow>? Rows)
{
    /// <summary><c>observed</c> or <c>forecast</c>; what the address or the setting says unless given.</summary>
    public string? Kind { get; init; }

    /// <summary>When a forecast was made, with its zone.</summary>
    public DateTimeOffset? IssuedAt { get; init; }
}

/// <summary>One row.</summary>
/// <param name="At">End of the interval, e.g. <c>2026-07-14T17:00:00Z</c>.</param>
internal sealed record WeatherBodyRow(string? At)
{
    /// <summary>[°C] −60 to 60.</summary>
    public double? AirCelsius { get; init; }

    /// <summary>[%] 0 to 100.</summary>
    public double? HumidityPercent { get; init; }

    /// <summary>[m/s] 0 to 120.</summary>
    public double? WindMetersPerSecond { get; init; }

    /// <summary>[W/m²] Global irradiance on level ground, −20 to 2000.</summary>
    public double? SolarWattsPerSquareMeter { get; init; }

    /// <summary>[mm] Rain that fell in the interval, 0 to 500.</summary>
    public double? RainMillimeters { get; init; }
}

/// <summary>Reads weather written as JSON.</summary>
internal static class WeatherJson
{
    private static readonly JsonSerializerOptions Strict = new(JsonSerializerDefaults.Web)
    {
        NumberHandling = JsonNumberHandling.Strict,
        UnmappedMemberHandling = JsonUnmappedMemberHandling.Disallow,
    };

    /// <returns><see cref="WeatherFile"/> or <see cref="WeatherFault"/>.</returns>
    public static WeatherFileOutcome Read(string json)
    {
        WeatherBody? body;
        try
        {
            // As bytes, for half of a surrogate pair has no place in them and is taken for a mark of its own.
            body = JsonSerializer.Deserialize<WeatherBody>(Encoding.UTF8.GetBytes(json), Strict);
        }
        catch (JsonException e)
        {
            return new WeatherFault(
                $"line {(e.LineNumber ?? 0) + 1}{(e.Path is { Length: > 1 } path ? $", {path}" : "")}", "JSON that does not fit",
                """{"kind":"forecast","issuedAt":"2026-07-14T06:00:00Z","rows":[{"at":"2026-07-14T17:00:00Z","airCelsius":35.2}]}""",
                "mend it there; names and numbers are as in /openapi/v1.json");
        }

        WeatherKind? kind = body?.Kind switch { null => null, "observed" => WeatherKind.Observed, "forecast" => WeatherKind.Forecast, _ => (WeatherKind)(-1) };
        if (kind == (WeatherKind)(-1))
            return new WeatherFault("kind", $"'{body!.Kind}'", "observed or forecast", "correct it or leave it out");
        if (body?.Rows is not { Count: > 0 } sent)
            return new WeatherFault("rows", "none", "at least one", "check that the file holds weather");
        var rows = new List<WeatherValues>(sent.Count);
        for (var i = 0; i < sent.Count; i++)
        {
            if (!TableTime.TryRead(sent[i]?.At, out var at))
                return new WeatherFault($"rows[{i}].at", $"'{sent[i]?.At}'", TableTime.Expected, "convert local times to UTC and end them with Z");
            if (FirstFault(sent[i], i) is { } fault)
                return fault;
            rows.Add(new WeatherValues(at)
            {
                AirCelsius = sent[i].AirCelsius,
                HumidityPercent = sent[i].HumidityPercent,
                WindMetersPerSecond = sent[i].WindMetersPerSecond,
                SolarWattsPerSquareMeter = sent[i].SolarWattsPerSquareMeter is { } sun ? Math.Max(0, sun) : null,
                RainMillimeters = sent[i].RainMillimeters,
            });
        }

        return WeatherFields.Tidy(rows, []) is WeatherFile file
            ? file with { Kind = kind, IssuedAt = body.IssuedAt?.ToUniversalTime() }
            : new WeatherFault("rows", "no row with a value", "at least one", "check that the file holds weather");
    }

    private static WeatherFault? FirstFault(WeatherBodyRow row, int number)
    {
        double?[] values = [row.AirCelsius, row.HumidityPercent, row.WindMetersPerSecond, row.SolarWattsPerSquareMeter, row.RainMillimeters];
        for (var f = 0; f < values.Length; f++)
        {
            var field = WeatherFields.All[f];
            if (values[f] is { } value && !field.Holds(value))
                return new WeatherFault($"rows[{number}].{field.Property}", FormattableString.Invariant($"{value}"), $"{field.Expected} or null", "mend the value or leave it out");
        }

        return null;
    }
}
