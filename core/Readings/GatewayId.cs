using System.Diagnostics.CodeAnalysis;

namespace PavementWatch.Core.Readings;

/// <summary>Name of a gateway: its MQTT user name and its level in the topics, e.g. <c>north-gate</c>.</summary>
/// <remarks>Written like a <see cref="SpotId"/>. <c>default</c> is no gateway.</remarks>
public readonly record struct GatewayId
{
    private readonly string? _value;

    private GatewayId(string value) => _value = value;

    /// <summary>The name's text; empty for <c>default</c>.</summary>
    public string Value => _value ?? "";

    /// <summary>Reads a name.</summary>
    /// <param name="text">The text to read.</param>
    /// <returns>The name.</returns>
    /// <exception cref="FormatException">The text is not a name as described above.</exception>
    public static GatewayId Parse(string? text) =>
        TryParse(text, out var id)
            ? id
            : throw new FormatException(
                $"'{text}' is not a gateway's name: 1 to {SpotId.MaxLength} of a-z, 0-9 and '-', starting with a letter or digit");

    /// <summary>Reads a name, if it is one.</summary>
    /// <param name="text">The text to read.</param>
    /// <param name="id">The name, or <c>default</c>.</param>
    /// <returns>Whether the text is a name.</returns>
    public static bool TryParse([NotNullWhen(true)] string? text, out GatewayId id)
    {
        id = SpotId.IsName(text) ? new GatewayId(text) : default;
        return id._value is not null;
    }

    /// <inheritdoc />
    public override string ToString() => Value;
}
