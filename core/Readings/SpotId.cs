using System.Buffers;
using System.Diagnostics.CodeAnalysis;

namespace PavementWatch.Core.Readings;

/// <summary>Name of a spot on the wire, in the store and in addresses, e.g. <c>north-gate-plaza</c>.</summary>
/// <remarks>
/// One to <see cref="MaxLength"/> characters of <c>a–z</c>, <c>0–9</c> and <c>-</c>, the first a letter or digit, so
/// that it is a legal SenML name (RFC 8428, section 4.5.1) and needs no escaping anywhere. <c>default</c> is no spot.
/// </remarks>
public readonly record struct SpotId
{
    /// <summary>Longest name, in characters.</summary>
    public const int MaxLength = 40;

    private static readonly SearchValues<char> Allowed = SearchValues.Create("abcdefghijklmnopqrstuvwxyz0123456789-");

    private readonly string? _value;

    private SpotId(string value) => _value = value;

    /// <summary>The name's text; empty for <c>default</c>.</summary>
    public string Value => _value ?? "";

    /// <summary>Reads a name.</summary>
    /// <param name="text">The text to read.</param>
    /// <returns>The name.</returns>
    /// <exception cref="FormatException">The text is not a name as described above.</exception>
    public static SpotId Parse(string? text) =>
        TryParse(text, out var id)
            ? id
            : throw new FormatException(
                $"'{text}' is not a spot's name: 1 to {MaxLength} of a-z, 0-9 and '-', starting with a letter or digit");

    /// <summary>Reads a name, if it is one.</summary>
    /// <param name="text">The text to read.</param>
    /// <param name="id">The name, or <c>default</c>.</param>
    /// <returns>Whether the text is a name.</returns>
    public static bool TryParse([NotNullWhen(true)] string? text, out SpotId id)
    {
        id = IsName(text) ? new SpotId(text) : default;
        return id._value is not null;
    }

    /// <inheritdoc />
    public override string ToString() => Value;

    internal static bool IsName([NotNullWhen(true)] string? text) =>
        text is { Length: > 0 and <= MaxLength } && text[0] != '-'
        && text.AsSpan().IndexOfAnyExcept(Allowed) < 0;
}
