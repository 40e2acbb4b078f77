using System.Collections.Concurrent;
using System.Text.Json;
using PavementWatch.Core.Readings;

namespace PavementWatch.Server.Ingest;

/// <summary>What is known of a gateway's presence.</summary>
/// <param name="Gateway">Which.</param>
/// <param name="Online">Whether it last said that it is there; the broker says otherwise in its place when it vanishes.</param>
/// <param name="LastSeenAt">When anything last came from it; <c>null</c> when nothing has since the server started.</param>
internal sealed record GatewayStatus(GatewayId Gateway, bool Online, DateTimeOffset? LastSeenAt)
{
    /// <summary>Its last status message as it came; JSON when it began with a brace.</summary>
    public string Report { get; init; } = "";
}

/// <summary>Which gateways are there, from their retained status messages and from everything else they send.</summary>
internal sealed class GatewayStatusBoard
{
    /// <summary>[B] Largest status message.</summary>
    public const int MostReportBytes = 4096;

    private readonly ConcurrentDictionary<GatewayId, GatewayStatus> _statuses = new();

    /// <summary>Every gateway heard of, by name.</summary>
    public IReadOnlyList<GatewayStatus> All => [.. _statuses.Values.OrderBy(status => status.Gateway.Value, StringComparer.Ordinal)];

    public GatewayStatus? Find(GatewayId gateway) => _statuses.GetValueOrDefault(gateway);

    /// <summary>Notes that the gateway sent something.</summary>
    public void Seen(GatewayId gateway, DateTimeOffset at) =>
        Update(gateway, status => status with { Online = true, LastSeenAt = at });

    /// <summary>Notes that its connection ended.</summary>
    public void Gone(GatewayId gateway) => Update(gateway, status => status with { Online = false });

    /// <summary>Takes a status message: <c>online</c> or <c>offline</c> as plain text, or a JSON object with that as <c>state</c>.</summary>
    /// <param name="gateway">Whose topic it came on.</param>
    /// <param name="payload">The message.</param>
    /// <param name="at">Now.</param>
    /// <param name="isOld">Kept from before, by a broker or over a restart: says nothing about now.</param>
    /// <returns><c>null</c>, or what is wrong with the message.</returns>
    public string? Report(GatewayId gateway, ReadOnlyMemory<byte> payload, DateTimeOffset at, bool isOld)
    {
        if (payload.Length > MostReportBytes)
            return $"status of {payload.Length} B, expected at most {MostReportBytes} B; send state and a few facts only";
        var text = System.Text.Encoding.UTF8.GetString(payload.Span).Trim();
        if (StateOf(text) is not ("online" or "offline"))
            return "status is neither 'online' nor 'offline' nor a JSON object with one of them as state; look at the gateway's version";
        var online = StateOf(text) == "online";
        // Also the last will comes on this topic: an offline message is not a sign of life.
        Update(gateway, status => isOld
            ? status with { Report = text }
            : status with { Report = text, Online = online, LastSeenAt = online ? at : status.LastSeenAt });
        return null;
    }

    private static string? StateOf(string text)
    {
        if (!text.StartsWith('{'))
            return text;
        try
        {
            using var json = JsonDocument.Parse(text);
            return json.RootElement.TryGetProperty("state", out var state) && state.ValueKind == JsonValueKind.String
                ? state.GetString()
                : null;
        }
        catch (JsonException)
        {
            return null;
        }
    }

    private void Update(GatewayId gateway, Func<GatewayStatus, GatewayStatus> change) =>
        _statuses.AddOrUpdate(gateway, id => change(new GatewayStatus(id, false, null)), (_, status) => change(status));
}
