using System.Collections.Concurrent;
using PavementWatch.Core.Readings;
using PavementWatch.Core.Wire;

namespace PavementWatch.Server.Ingest;

/// <summary>What is known of a gateway's presence.</summary>
/// <param name="Gateway">Which.</param>
/// <param name="Online">Whether it last said that it is there; the broker says otherwise in its place when it vanishes.</param>
/// <param name="LastSeenAt">When anything last came from it; <c>null</c> when nothing has since the server started.</param>
internal sealed record GatewayStatus(GatewayId Gateway, bool Online, DateTimeOffset? LastSeenAt)
{
    /// <summary>What it last said of itself; <c>null</c> before the first time.</summary>
    public GatewayReport? Report { get; init; }
}

/// <summary>Which gateways are there, from their retained status messages and from everything else they send.</summary>
internal sealed class GatewayStatusBoard
{
    private const string Offline = "offline";

    private readonly ConcurrentDictionary<GatewayId, GatewayStatus> _statuses = new();

    /// <summary>Every gateway heard of, by name.</summary>
    public IReadOnlyList<GatewayStatus> All => [.. _statuses.Values.OrderBy(status => status.Gateway.Value, StringComparer.Ordinal)];

    public GatewayStatus? Find(GatewayId gateway) => _statuses.GetValueOrDefault(gateway);

    /// <summary>Notes that the gateway sent something.</summary>
    public void Seen(GatewayId gateway, DateTimeOffset at) =>
        Update(gateway, status => status with { Online = true, LastSeenAt = at });

    /// <summary>Notes that its connection ended; of a gateway that is not known, or no more, that is no news.</summary>
    public void Gone(GatewayId gateway)
    {
        while (_statuses.TryGetValue(gateway, out var status) && !_statuses.TryUpdate(gateway, status with { Online = false }, status))
        {
        }
    }

    /// <summary>Forgets a gateway that is no more.</summary>
    public void Forget(GatewayId gateway) => _statuses.TryRemove(gateway, out _);

    /// <summary>Takes a status message, a <see cref="GatewayReport"/>.</summary>
    /// <param name="gateway">Whose topic it came on.</param>
    /// <param name="payload">The message.</param>
    /// <param name="at">Now.</param>
    /// <param name="isOld">Kept from before, by a broker or over a restart: says nothing about now.</param>
    /// <returns><c>null</c>, or what is wrong with the message.</returns>
    public string? Report(GatewayId gateway, ReadOnlySpan<byte> payload, DateTimeOffset at, bool isOld)
    {
        if (payload.Length > GatewayReport.MaxBytes)
            return $"status of {payload.Length} B, expected at most {GatewayReport.MaxBytes} B; bring the gateway's version up to date";
        if (GatewayReport.TryRead(payload) is not { State: GatewayReport.Online or Offline } report)
            return "status is not a report with state 'online' or 'offline'; bring the gateway's version up to date";
        var online = report.State == GatewayReport.Online;
        // Also the last will comes on this topic: an offline message is not a sign of life.
        Update(gateway, status => isOld
            ? status with { Report = report }
            : status with { Report = report, Online = online, LastSeenAt = online ? at : status.LastSeenAt });
        return null;
    }

    private void Update(GatewayId gateway, Func<GatewayStatus, GatewayStatus> change) =>
        _statuses.AddOrUpdate(gateway, id => change(new GatewayStatus(id, false, null)), (_, status) => change(status));
}
