namespace PavementWatch.Core.Wire;

/// <summary>One resolved SenML record: base fields applied, no relative time (RFC 8428, section 4.6).</summary>
/// <param name="Name">Base name and name joined; of the characters of section 4.5.1.</param>
/// <param name="Unit">Unit symbol, or the base unit, or <c>null</c> when neither was given.</param>
/// <param name="UnixSeconds">[s] Time since 1970-01-01 UTC; relative times were added to the receiver's clock.</param>
public sealed record SenMlRecord(string Name, string? Unit, double UnixSeconds)
{
    /// <summary>Numeric value, base value added; finite. <c>null</c> when the record holds another kind of value, or only a sum.</summary>
    public double? Value { get; init; }

    /// <summary>Text value.</summary>
    public string? StringValue { get; init; }

    /// <summary>Truth value.</summary>
    public bool? BoolValue { get; init; }

    /// <summary>Data value as it stands on the wire: base64url (RFC 4648, section 5) without padding.</summary>
    public string? DataValue { get; init; }

    /// <summary>[unit·s] Integral of the value over time, base sum added; finite.</summary>
    public double? Sum { get; init; }

    /// <summary>[s] Longest time until the sensor reports again.</summary>
    public double? UpdateSeconds { get; init; }

    /// <summary>Whether the time was given relative to "now" (sum of base time and time below 2²⁸).</summary>
    public bool WasRelative { get; init; }

    /// <summary>The version the pack named; 10 unless it said otherwise.</summary>
    public int Version { get; init; } = SenMl.Version;

    /// <summary>Place in the pack, counted from 0.</summary>
    public int Position { get; init; }
}
