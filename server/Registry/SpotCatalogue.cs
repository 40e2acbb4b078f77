using Microsoft.EntityFrameworkCore;
using PavementWatch.Core.Readings;
using PavementWatch.Core.Surfaces;
using PavementWatch.Server.Registry.Rows;

namespace PavementWatch.Server.Registry;

/// <summary>The spots and which gateway may report on which, in memory; the registry holds the truth.</summary>
internal sealed class SpotCatalogue(IDbContextFactory<RegistryDb> registry)
{
    private volatile Contents _contents = Contents.Nothing;

    /// <summary>Every spot in the business's order.</summary>
    public IReadOnlyList<Spot> All => _contents.Spots;

    public Spot? Find(SpotId id) => _contents.ById.GetValueOrDefault(id);

    /// <summary>Every gateway and the spots it reports on.</summary>
    public IReadOnlyDictionary<GatewayId, IReadOnlyList<Spot>> Gateways => _contents.Gateways;

    public bool MayReport(GatewayId gateway, SpotId spot) => _contents.Reporting.Contains((gateway, spot));

    /// <summary>Takes over what the registry says now; another process may have changed it.</summary>
    public async Task RefreshAsync(CancellationToken cancellationToken)
    {
        await using var db = await registry.CreateDbContextAsync(cancellationToken);
        var spots = await db.Spots.AsNoTracking().OrderBy(s => s.Position).ThenBy(s => s.Id).ToListAsync(cancellationToken);
        var gateways = await db.Gateways.AsNoTracking().Include(g => g.Spots).OrderBy(g => g.Id).ToListAsync(cancellationToken);
        _contents = Contents.Of(spots, gateways);
    }

    private sealed record Contents(
        IReadOnlyList<Spot> Spots,
        IReadOnlyDictionary<SpotId, Spot> ById,
        IReadOnlySet<(GatewayId Gateway, SpotId Spot)> Reporting,
        IReadOnlyDictionary<GatewayId, IReadOnlyList<Spot>> Gateways)
    {
        public static readonly Contents Nothing = Of([], []);

        public static Contents Of(IReadOnlyList<SpotRow> rows, IReadOnlyList<GatewayRow> gateways)
        {
            var spots = rows.Select(r => r.ToSpot()).ToArray();
            return new Contents(
                spots,
                spots.ToDictionary(s => s.Id),
                gateways.SelectMany(g => g.Spots).Select(r => (GatewayId.Parse(r.GatewayId), SpotId.Parse(r.SpotId))).ToHashSet(),
                gateways.ToDictionary(
                    g => GatewayId.Parse(g.Id),
                    g => (IReadOnlyList<Spot>)[.. spots.Where(s => g.Spots.Any(r => r.SpotId == s.Id.Value))]));
        }
    }
}
