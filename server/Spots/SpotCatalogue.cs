using Microsoft.EntityFrameworkCore;
using PavementWatch.Core.Readings;
using PavementWatch.Core.Surfaces;
using PavementWatch.Server.Database;

namespace PavementWatch.Server.Spots;

/// <summary>The spots, in memory; the registry holds the truth.</summary>
internal sealed class SpotCatalogue(IDbContextFactory<RegistryDb> registry) : IReadAtStart, IDisposable
{
    private readonly SemaphoreSlim _one = new(1);
    private volatile Contents _contents = Contents.Nothing;

    /// <summary>Every spot in the business's order.</summary>
    public IReadOnlyList<Spot> All => _contents.Spots;

    public Spot? Find(SpotId id) => _contents.ById.GetValueOrDefault(id);

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
        _contents = Contents.Of(spots);
    }

    private sealed record Contents(IReadOnlyList<Spot> Spots, IReadOnlyDictionary<SpotId, Spot> ById)
    {
        public static readonly Contents Nothing = Of([]);

        public static Contents Of(IReadOnlyList<SpotRow> rows)
        {
            var spots = rows.Select(r => r.ToSpot()).ToArray();
            return new Contents(spots, spots.ToDictionary(s => s.Id));
        }
    }
}
