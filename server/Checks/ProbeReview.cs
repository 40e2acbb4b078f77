using Microsoft.EntityFrameworkCore;
using PavementWatch.Core.Readings;
using PavementWatch.Dashboards.Checks;
using PavementWatch.Server.Database;
using PavementWatch.Server.Gateways;
using PavementWatch.Server.Plausibility;

namespace PavementWatch.Server.Checks;

/// <summary>What hands and eyes have said of the probes, from the registry and from how readings are judged.</summary>
internal sealed class ProbeReview(IDbContextFactory<RegistryDb> registry, ReadingJudge judge) : IProbeReview
{
    public async Task<IReadOnlySet<SpotId>> NeverCheckedAsync(CancellationToken cancellationToken)
    {
        await using var db = await registry.CreateDbContextAsync(cancellationToken);
        var never = await db.GatewaySpots.Where(m => !db.Set<SpotCheckRow>().Any(c => c.SpotId == m.SpotId)).Select(m => m.SpotId).ToListAsync(cancellationToken);
        return never.Select(SpotId.Parse).ToHashSet();
    }

    public DateTimeOffset? DoubtedSince(SpotId spot) => judge.DoubtedSince(spot);

    public bool Explain(SpotId spot) => judge.Explain(spot);
}
