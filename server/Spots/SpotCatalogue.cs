using Microsoft.EntityFrameworkCore;
using PavementWatch.Core.Readings;
using PavementWatch.Core.Surfaces;
using PavementWatch.Server.Database;

namespace PavementWatch.Server.Spots;

/// <summary>The spots, in memory; the registry holds the truth.</summary>
internal sealed class SpotCatalogue(IDbContextFactory<RegistryDb> registry) : IReadAtStart, IDisposable
{
    private readonly SemaphoreSlim _one = new(1);
    private readonly Lock _putting = new();
    private IReadOnlyDictionary<SpotId, InfraredBand> _bands = new Dictionary<SpotId, InfraredBand>();
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

    /// <summary>Takes over what the probes of spots see; those not named see what an MLX90614 does.</summary>
    public void SetBands(IReadOnlyDictionary<SpotId, InfraredBand> bands)
    {
        lock (_putting)
        {
            if (bands.Count == _bands.Count && bands.All(b => _bands.TryGetValue(b.Key, out var was) && was == b.Value))
                return;
            _bands = bands;
            _contents = Contents.Of(_contents.Spots, bands);
        }
    }

    public void Dispose() => _one.Dispose();

    private async Task ReadAsync(CancellationToken cancellationToken)
    {
        await using var db = await registry.CreateDbContextAsync(cancellationToken);
        var spots = await db.Spots.AsNoTracking().Where(s => s.RemovedAt == null).OrderBy(s => s.Position).ThenBy(s => s.Id).ToListAsync(cancellationToken);
        lock (_putting)
            _contents = Contents.Of([.. spots.Select(s => s.ToSpot())], _bands);
    }

    private sealed record Contents(IReadOnlyList<Spot> Spots, IReadOnlyDictionary<SpotId, Spot> ById)
    {
        public static readonly Contents Nothing = new([], new Dictionary<SpotId, Spot>());

        public static Contents Of(IReadOnlyList<Spot> described, IReadOnlyDictionary<SpotId, InfraredBand> bands)
        {
            var spots = described.Select(s => s with { ProbeBand = bands.GetValueOrDefault(s.Id) }).ToArray();
            return new Contents(spots, spots.ToDictionary(s => s.Id));
        }
    }
}
