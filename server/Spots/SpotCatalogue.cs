using Microsoft.EntityFrameworkCore;
using PavementWatch.Core.Readings;
using PavementWatch.Core.Surfaces;
using PavementWatch.Server.Database;

namespace PavementWatch.Server.Spots;

/// <summary>The spots and which gateway may report on which, in memory; the registry holds the truth.</summary>
internal sealed class SpotCatalogue(IDbContextFactory<RegistryDb> registry) : IReadAtStart, IDisposable
{
    private readonly SemaphoreSlim _one = new(1);
    private volatile Contents _contents = Contents.Nothing;

    /// <summary>Every spot in the business's order.</summary>
    public IReadOnlyList<Spot> All => _contents.Spots;

    public Spot? Find(SpotId id) => _contents.ById.GetValueOrDefault(id);

    /// <summary>Every gateway and the spots it reports on.</summary>
    public IReadOnlyDictionary<GatewayId, IReadOnlyList<Spot>> Gateways => _contents.Gateways;

    /// <summary>What each gateway may do: the hash of its secret and its spots. Equal while nothing is taken from it.</summary>
    public IReadOnlyDictionary<GatewayId, GatewayRight> Rights => _contents.Rights;

    public bool MayReport(GatewayId gateway, SpotId spot) => _contents.Reporting.Contains((gateway, spot));

    /// <summary>When a spot that a gateway once measured was taken from it; <c>null</c> when it has it, or never had.</summary>
    public DateTimeOffset? MeasuredUntil(GatewayId gateway, SpotId spot) =>
        _contents.Former.TryGetValue((gateway, spot), out var until) ? until : null;

    /// <summary>Takes over what the registry says now; another process may have changed it.</summary>
    public async Task RefreshAsync(CancellationToken cancellationToken)
    {
        // One at a time: what was read earlier must not take the place of what was read later.
        await _one.WaitAsync(cancellationToken);
        try
        {
            await ReadAsync(cancellationToken);
        }
        finally
        {
            _one.Release();
        }
    }

    public void Dispose() => _one.Dispose();

    private async Task ReadAsync(CancellationToken cancellationToken)
    {
        await using var db = await registry.CreateDbContextAsync(cancellationToken);
        var spots = await db.Spots.AsNoTracking().Where(s => s.RemovedAt == null).OrderBy(s => s.Position).ThenBy(s => s.Id).ToListAsync(cancellationToken);
        var gateways = await db.Gateways.AsNoTracking().Include(g => g.Spots).OrderBy(g => g.Id).ToListAsync(cancellationToken);
        var former = await db.FormerGatewaySpots.AsNoTracking().ToListAsync(cancellationToken);
        _contents = Contents.Of(spots, gateways, former);
    }

    private sealed record Contents(
        IReadOnlyList<Spot> Spots,
        IReadOnlyDictionary<SpotId, Spot> ById,
        IReadOnlySet<(GatewayId Gateway, SpotId Spot)> Reporting,
        IReadOnlyDictionary<GatewayId, IReadOnlyList<Spot>> Gateways,
        IReadOnlyDictionary<GatewayId, GatewayRight> Rights,
        IReadOnlyDictionary<(GatewayId Gateway, SpotId Spot), DateTimeOffset> Former)
    {
        public static readonly Contents Nothing = Of([], [], []);

        public static Contents Of(IReadOnlyList<SpotRow> rows, IReadOnlyList<GatewayRow> gateways, IReadOnlyList<FormerGatewaySpotRow> former)
        {
            var spots = rows.Select(r => r.ToSpot()).ToArray();
            return new Contents(
                spots,
                spots.ToDictionary(s => s.Id),
                gateways.SelectMany(g => g.Spots).Select(r => (GatewayId.Parse(r.GatewayId), SpotId.Parse(r.SpotId))).ToHashSet(),
                gateways.ToDictionary(
                    g => GatewayId.Parse(g.Id),
                    g => (IReadOnlyList<Spot>)[.. spots.Where(s => g.Spots.Any(r => r.SpotId == s.Id.Value))]),
                gateways.ToDictionary(
                    g => GatewayId.Parse(g.Id),
                    g => new GatewayRight(g.SecretHash, g.Spots.Select(r => SpotId.Parse(r.SpotId)).ToHashSet())),
                former.ToDictionary(f => (GatewayId.Parse(f.GatewayId), SpotId.Parse(f.SpotId)), f => f.Until));
        }
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
