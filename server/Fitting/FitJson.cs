using System.Text.Json;
using PavementWatch.Core.Offsets;

namespace PavementWatch.Server.Fitting;

/// <summary>Fits as the registry keeps them. One of an earlier edition of the program may not be readable any more, and says so.</summary>
internal static class FitJson
{
    /// <summary>How fits are written, counted up whenever an earlier edition's may no longer be readable, or its figures mean something else.</summary>
    public const int Format = 1;

    public static string Write(OffsetFit fit) => JsonSerializer.Serialize(fit);

    /// <returns>The fit and no fault, or no fit and why it cannot be read.</returns>
    public static (OffsetFit? Fit, string? Fault) Read(string json)
    {
        try
        {
            var fit = JsonSerializer.Deserialize<OffsetFit>(json);
            return IsWhole(fit) ? (fit, null) : (null, "parts of it are missing");
        }
        catch (Exception failure) when (failure is JsonException or NotSupportedException or ArgumentException or FormatException)
        {
            return (null, failure.Message);
        }
    }

    // The reader takes null for a list that must be there.
    private static bool IsWhole(OffsetFit? fit) =>
        fit is { SpotName: not null, Id: not null, Lags: not null, Parts: { Count: > 0 } parts, Seen: null or { Count: OffsetFit.SeenCount } }
        && fit.Seen?.All(one => one is not null) != false
        && parts.All(part => part is { Coefficients: not null, SigmaKelvin: not null, Quantiles: not null, Persistence: not null });
}
