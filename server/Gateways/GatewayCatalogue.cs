using Microsoft.EntityFrameworkCore;
using PavementWatch.Core.Readings;
using PavementWatch.Core.Surfaces;
using PavementWatch.Server.Database;
using PavementWatch.Server.Spots;

namespace PavementWatch.Server.Gateways;

/// <summary>The gateways and which of them may report on which spot, in memory; the registry holds the truth.</summary>
internal sealed class GatewayCatalogue(IDbContextFactory<RegistryDb> registry, SpotCatalogue spots) : IReadAtStart, IDisposable
{
    private readonly SemaphoreSlim _one = new(1);
    private volatile Contents _contents = Contents.Of([], []);

    /// <summary>Every gateway and the spots it reports on, these in the business's order.</summary>
    public IReadOnlyDictionary<GatewayId, IReadOnlyList<Spot>> All =>
        _contents.Rights.ToDictionary(g => g.Key, g => (IReadOnlyList<Spot>)[.. spots.All.Where(s => g.Value.Spots.Contains(s.Id))]);

    /// <summary>What each gateway may do: the hash of its secret and its spots. Equal while nothing is taken from it.</summary>
    public IReadOnlyDictionary<GatewayId, GatewayRight> Rights => _contents.Rights;

    public bool MayReport(GatewayId gateway, SpotId spot) => _contents.Rights.TryGetValue(gateway, out var right) && right.Spots.Contains(spot);

    /// <summary>When a spot that a gateway once measured was taken from it; <c>null</c> when it has it, or never had.</summary>
    public DateTimeOffset? MeasuredUntil(GatewayId gateway, SpotId spot) =>
        _contents.Former.TryGetValue((gateway, spot), out var until) ? until : null;

    /// <summary>Spots that a gateway once measured, and when each was taken from it.</summary>
    public IEnumerable<(SpotId Spot, DateTimeOffset Until)> Former(GatewayId gateway) =>
        _contents.Former.Where(f => f.Key.Gateway == gateway).Select(f => (f.Key.Spot, f.Value));

    /// <summary>The gateway that measures a spot; <c>null</c> when none does.</summary>
    public GatewayId? Of(SpotId spot) =>
        _contents.Rights.Where(g => g.Value.Spots.Contains(spot)).Select(g => (GatewayId?)g.Key).FirstOrDefault();

    /// <summary>Takes over what the registry says now, of the spots too; another process may have changed it.</summary>
    public async Task RefreshAsync(CancellationToken cancellationToken)
    {
        // One at a time: what was read earlier must not take the place of what was read later.
        await _one.WaitAsync(cancellationToken);
        try
        {
            await spots.RefreshAsync(cancellationToken);
            await using var db = await registry.CreateDbContextAsync(cancellationToken);
            _contents = Contents.Of(
                await db.Gateways.AsNoTracking().Include(g => g.Spots).OrderBy(g => g.Id).ToListAsync(cancellationToken),
                await db.FormerGatewaySpots.AsNoTracking().ToListAsync(cancellationToken));
        }
        finally
        {
            _one.Release();
        }
    }

    public void Dispose() => _one.Dispose();

    private sealed record Contents(
        IReadOnlyDictionary<GatewayId, GatewayRight> Rights, IReadOnlyDictionary<(GatewayId Gateway, SpotId Spot), DateTimeOffset> Former)
    {
        public static Contents Of(IReadOnlyList<GatewayRow> gateways, IReadOnlyList<FormerGatewaySpotRow> former) => new(
            gateways.ToDictionary(
                g => GatewayId.Parse(g.Id),
                g => new GatewayRight(g.SecretHash, g.Spots.Select(r => SpotId.Parse(r.SpotId)).ToHashSet())),
            former.ToDictionary(f => (GatewayId.Parse(f.GatewayId), SpotId.Parse(f.SpotId)), f => f.Until));
    }
}

/// <summary>What a gateway may do.</summary>
/// <param name="SecretHash">Hash of the secret it signs in with.</param>
/// <param name="Spots">Spots it reports on.</param>
internal sealed record GatewayRight(string SecretHash, IReadOnlySet<SpotId> Spots)
{
    /// <summary>Whether something of an earlier right is no more.</summary>
    public bool Lacks(GatewayRight earlier) => SecretHash != earlier.SecretHash || !Spots.IsSupersetOf(earlier.Spots);
}
