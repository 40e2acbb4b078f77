using System.Text.Json;
using System.Text.Json.Serialization;

namespace PavementWatch.Core.Wire;

/// <summary>What a gateway says of itself on its status topic, retained: whether it is there and what ails it.</summary>
/// <remarks>JSON in camel case, at most 4096 bytes. Fields a reader does not know are passed over.</remarks>
public sealed record GatewayReport
{
    /// <summary>[B] Largest report.</summary>
    public const int MaxBytes = 4096;

    /// <summary>Value of <see cref="State"/> while the gateway is connected.</summary>
    public const string Online = "online";

    private static readonly JsonSerializerOptions Form = new(JsonSerializerDefaults.Web)
    {
        DefaultIgnoreCondition = JsonIgnoreCondition.WhenWritingNull,
        RespectNullableAnnotations = true,
    };

    /// <summary>The report left as the will: <c>{"state":"offline"}</c>.</summary>
    public static byte[] Offline => "{\"state\":\"offline\"}"u8.ToArray();

    /// <summary><c>online</c> or <c>offline</c>.</summary>
    public required string State { get; init; }

    /// <summary>When it was written, by the gateway's clock; <c>null</c> while that is not known to be right.</summary>
    public DateTimeOffset? At { get; init; }

    /// <summary>Version of the gateway's program.</summary>
    public string? Version { get; init; }

    /// <summary>The gateway's run, as in the packs' user property.</summary>
    public string? Boot { get; init; }

    /// <summary>How its time is known: <c>network</c>, <c>chip</c>, <c>system</c> or <c>unknown</c>.</summary>
    public string? Clock { get; init; }

    /// <summary>Readings that wait to be sent.</summary>
    public long Waiting { get; init; }

    /// <summary>Readings held until the time is known.</summary>
    public long Held { get; init; }

    /// <summary>Of those waiting, how many the server does not take with their dates: one of the two clocks is wrong.</summary>
    public long PutOff { get; init; }

    /// <summary>Time of the oldest reading that waits.</summary>
    public DateTimeOffset? OldestWaiting { get; init; }

    /// <summary>Why its disk takes no readings, with the remedy; <c>null</c> when it takes them.</summary>
    public string? DiskFault { get; init; }

    /// <summary>How many readings went another way than to the server, by reason; only those that are not zero.</summary>
    public IReadOnlyDictionary<string, long>? Counts { get; init; }

    /// <summary>Probes that gave nothing when last asked, and why.</summary>
    public IReadOnlyDictionary<string, string>? ProbeFaults { get; init; }

    /// <summary>Spots that are its to measure and for which it has no surface probe; <c>null</c> when each has one.</summary>
    public IReadOnlyList<string>? SpotsWithoutProbe { get; init; }

    /// <summary>What the infrared probe of a spot sees, in µm as settings name it, by spot; <c>null</c> when each sees 5.5-14, as those that do not say so are taken to.</summary>
    public IReadOnlyDictionary<string, string>? BandsMicrometers { get; init; }

    /// <summary>Version of the settings in use; <c>null</c> when none came from the server.</summary>
    public string? SettingsVersion { get; init; }

    /// <summary>Why the last settings message was not taken; <c>null</c> when it was.</summary>
    public string? SettingsFault { get; init; }

    /// <summary>Why its card does not have the settings in use, and what that means; <c>null</c> when it has them.</summary>
    public string? SettingsDiskFault { get; init; }

    /// <summary>What keeps ending its connection, with the remedy; <c>null</c> when nothing does.</summary>
    public string? LinkFault { get; init; }

    /// <summary>Why its lamp and button do not work, with the remedy; <c>null</c> when they do or there are none.</summary>
    public string? PanelFault { get; init; }

    /// <summary>Result of the last self-check asked for at the service button; <c>null</c> before one.</summary>
    public string? SelfCheck { get; init; }

    /// <summary>The report as the status topic carries it, shortened where it would be too long.</summary>
    /// <returns>The message, at most <see cref="MaxBytes"/>.</returns>
    public byte[] Write()
    {
        var bytes = JsonSerializer.SerializeToUtf8Bytes(this, Form);
        if (bytes.Length <= MaxBytes)
            return bytes;
        var many = $"{ProbeFaults?.Count ?? 0} probes; run 'check' on the gateway";
        var brief = this with { ProbeFaults = new Dictionary<string, string> { ["several"] = many }, SpotsWithoutProbe = SpotsWithoutProbe is null ? null : [.. SpotsWithoutProbe.Take(8)], BandsMicrometers = BandsMicrometers?.Take(12).ToDictionary(), SelfCheck = null, SettingsFault = Cut(SettingsFault), SettingsDiskFault = Cut(SettingsDiskFault), DiskFault = Cut(DiskFault), LinkFault = Cut(LinkFault), PanelFault = Cut(PanelFault) };
        return JsonSerializer.SerializeToUtf8Bytes(brief, Form);
    }

    /// <summary>Reads a report.</summary>
    /// <param name="utf8">The message.</param>
    /// <returns>The report; <c>null</c> when it is none.</returns>
    public static GatewayReport? TryRead(ReadOnlySpan<byte> utf8)
    {
        try
        {
            var report = JsonSerializer.Deserialize<GatewayReport>(utf8, Form);
            // The serializer looks at properties, not at what stands in a dictionary or a list.
            return report?.ProbeFaults?.Any(fault => fault.Value is null) == true || report?.BandsMicrometers?.Any(band => band.Value is null) == true || report?.SpotsWithoutProbe?.Any(spot => spot is null) == true
                ? null
                : report;
        }
        catch (JsonException)
        {
            return null;
        }
    }

    private static string? Cut(string? text) => text is { Length: > 400 } ? text[..400] : text;
}
