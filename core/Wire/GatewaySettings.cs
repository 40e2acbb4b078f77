using System.Text.Json;
using System.Text.Json.Serialization;
using PavementWatch.Core.Quantities;

namespace PavementWatch.Core.Wire;

/// <summary>What the server sets on a gateway from afar, retained on its settings topic: the spots' surfaces and limits.</summary>
/// <remarks>JSON in camel case. Fields a reader does not know are passed over, so an older gateway takes newer settings.</remarks>
public sealed record GatewaySettings
{
    /// <summary>[B] Largest message taken.</summary>
    public const int MaxBytes = 64 * 1024;

    private static readonly JsonSerializerOptions Form = new(JsonSerializerDefaults.Web)
    {
        DefaultIgnoreCondition = JsonIgnoreCondition.WhenWritingNull,
        RespectNullableAnnotations = true,
    };

    /// <summary>Names this state of the settings; comes back in the status once they are in use.</summary>
    public required string Version { get; init; }

    /// <summary>By the spot's name, what changes against the gateway's own settings.</summary>
    public IReadOnlyDictionary<string, SpotSettings> Spots { get; init; } = new Dictionary<string, SpotSettings>();

    /// <summary>By the spot's name, what the server estimates where no reading tells; <c>null</c> or left out where one does. No part of <see cref="Version"/>.</summary>
    public IReadOnlyDictionary<string, SpotEstimate>? Estimates { get; init; }

    /// <summary>The message as the settings topic carries it.</summary>
    /// <returns>JSON in UTF-8.</returns>
    public byte[] Write() => JsonSerializer.SerializeToUtf8Bytes(this, Form);

    /// <summary>Reads a message; its values are not judged here.</summary>
    /// <param name="utf8">The message.</param>
    /// <returns>The settings.</returns>
    /// <exception cref="JsonException">It is none; the message names the place.</exception>
    public static GatewaySettings Read(ReadOnlySpan<byte> utf8)
    {
        var settings = JsonSerializer.Deserialize<GatewaySettings>(utf8, Form) ?? throw new JsonException("settings are 'null', expected an object");
        // The serializer looks at properties, not at what stands in a dictionary.
        if (settings.Spots.FirstOrDefault(spot => spot.Value is null) is { Key: { } set })
            throw new JsonException($"spots.{set} is 'null', expected an object");
        return settings.Estimates?.FirstOrDefault(estimate => estimate.Value is null) is { Key: { } estimated }
            ? throw new JsonException($"estimates.{estimated} is 'null', expected an object")
            : settings;
    }
}

/// <summary>What is set on one spot; what is <c>null</c> stays as it is on the gateway.</summary>
public sealed record SpotSettings
{
    /// <summary>What the ground is made of, e.g. <c>concrete-pale</c>.</summary>
    public string? Surface { get; init; }

    /// <summary>[fraction] Emissivity of this very surface, <see cref="QuantityRanges.SurfaceEmissivity"/>.</summary>
    public double? EmissivityFraction { get; init; }

    /// <summary>[fraction] How much of the sky's half sphere the surface sees, <see cref="QuantityRanges.OpenSky"/>.</summary>
    public double? OpenSkyFraction { get; init; }

    /// <summary>[°C] From here the spot is too hot, <see cref="QuantityRanges.Limit"/>.</summary>
    public double? LimitCelsius { get; init; }
}

/// <summary>The server's word for a spot that gives no readings.</summary>
/// <param name="SurfaceCelsius">[°C] The middle of the estimate.</param>
/// <param name="UpperCelsius">[°C] The upper end of its 90 % interval, which is what judges a silent spot.</param>
/// <param name="At">The server's clock when it was made; it is worth something for <see cref="FreshFor"/>.</param>
public sealed record SpotEstimate(double SurfaceCelsius, double UpperCelsius, DateTimeOffset At)
{
    /// <summary>How long an estimate may be used: the ground's own temperature moves by a few kelvin in it. Common practice, no source.</summary>
    public static readonly TimeSpan FreshFor = TimeSpan.FromMinutes(15);

    /// <summary>Whether it says too hot at a moment; an estimate that is not fresh, or from the future, says nothing.</summary>
    /// <param name="limitCelsius">[°C] From here the spot is too hot, inclusive.</param>
    /// <param name="now">The moment.</param>
    public bool IsTooHot(double limitCelsius, DateTimeOffset now) =>
        UpperCelsius >= limitCelsius && (now - At).Duration() <= FreshFor;
}
