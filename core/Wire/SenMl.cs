using System.Text.Json;

namespace PavementWatch.Core.Wire;

/// <summary>Reads Sensor Measurement Lists in their JSON form.</summary>
/// <remarks>
/// Source: Jennings, Shelby, Arkko, Keranen, Bormann, Sensor Measurement Lists (SenML), RFC 8428, 2018,
/// DOI 10.17487/RFC8428, sections 4 and 5. A record of base fields alone, as in the example of section 5.1.7, is
/// taken as setting the base, though section 4.2 asks every record for a value.
/// </remarks>
public static class SenMl
{
    /// <summary>The version understood (section 4.4).</summary>
    public const int Version = 10;

    /// <summary>[s] Times below this are relative to "now" (section 4.5.3): 2²⁸.</summary>
    public const double FirstAbsoluteSeconds = 268_435_456;

    private const string SendAPack = "send a JSON array of SenML records (RFC 8428)";

    private static readonly JsonReaderOptions Options = new() { MaxDepth = 8 };

    /// <summary>Reads and resolves a pack.</summary>
    /// <param name="utf8">The payload.</param>
    /// <param name="now">The receiver's clock, for relative times.</param>
    /// <returns>The records, or why there are none. Never throws for what the payload holds.</returns>
    public static SenMlOutcome Parse(ReadOnlySpan<byte> utf8, DateTimeOffset now)
    {
        var reader = new Utf8JsonReader(utf8, Options);
        var resolver = new SenMlResolver(now);
        try
        {
            reader.Read();
            if (reader.TokenType != JsonTokenType.StartArray)
                return NotAPack("the payload", reader.TokenType);

            while (reader.Read() && reader.TokenType != JsonTokenType.EndArray)
            {
                if (reader.TokenType != JsonTokenType.StartObject)
                    return NotAPack($"record {resolver.Position}", reader.TokenType);
                if (resolver.Add(SenMlFields.Read(ref reader)) is { } malformed)
                    return malformed;
            }

            reader.Read(); // What stands behind the array is refused here.
        }
        catch (JsonException e)
        {
            return new SenMlOutcome.Malformed(
                SenMlMistake.NotJson,
                $"line {e.LineNumber + 1}, byte {e.BytePositionInLine}",
                "not JSON as RFC 8259 has it",
                "look for a payload cut short, a trailing comma, or NaN, which JSON cannot hold: leave such a record out");
        }

        return resolver.Finish();
    }

    private static SenMlOutcome.Malformed NotAPack(string where, JsonTokenType found) =>
        new(SenMlMistake.NotAPack, where, $"found {found}, expected {(where[0] == 't' ? "an array" : "an object")}", SendAPack);
}
