using System.Security.Claims;
using Microsoft.EntityFrameworkCore;
using PavementWatch.Core.Readings;
using PavementWatch.Core.Surfaces;
using PavementWatch.Dashboards.Checks;
using PavementWatch.Server.Database;
using PavementWatch.Server.People;
using PavementWatch.Server.Plausibility;
using PavementWatch.Server.Spots;

namespace PavementWatch.Server.Checks;

/// <summary>The spot checks of the registry.</summary>
internal sealed class CheckStore(
    IDbContextFactory<RegistryDb> registry, SpotCatalogue catalogue, CheckComparison comparison, ReadingJudge judge, TimeProvider time) : ISpotChecks
{
    private static readonly TimeSpan OfNow = TimeSpan.FromMinutes(15);

    public IReadOnlyList<Spot> Spots() => catalogue.All;

    public async Task<bool> AddAsync(SpotCheck check, ClaimsPrincipal by, CancellationToken cancellationToken) =>
        await AddAsync([check], by, cancellationToken) == 1;

    public async Task<CheckImport> ImportAsync(
        TextReader file, SpotId? spot, ClaimsPrincipal? by, CancellationToken cancellationToken)
    {
        var read = CheckCsv.Read(file, spot, catalogue.All, time.GetUtcNow());
        return read.Fault is { } fault
            ? new RefusedChecks(fault)
            : new ImportedChecks(read.Checks.Count, await AddAsync(read.Checks, by, cancellationToken), read.Remarks);
    }

    public async Task<IReadOnlyList<SpotCheck>> NewestAsync(SpotId? spot, int most, CancellationToken cancellationToken)
    {
        await using var db = await registry.CreateDbContextAsync(cancellationToken);
        var rows = await Of(db, spot).OrderByDescending(c => c.At).ThenByDescending(c => c.Id).Take(most).ToListAsync(cancellationToken);
        var ids = rows.Select(r => r.PersonId).Distinct().ToList();
        var names = await db.People.Where(p => ids.Contains(p.Id)).ToDictionaryAsync(p => p.Id, p => p.UserName!, cancellationToken);
        return [.. rows.Select(r => Check(r) with { EnteredBy = r.PersonId is { } id ? names.GetValueOrDefault(id, "") : "" })];
    }

    public async Task<int> ExportAsync(TextWriter writer, SpotId? spot, CancellationToken cancellationToken)
    {
        await using var db = await registry.CreateDbContextAsync(cancellationToken);
        await writer.WriteLineAsync(CheckCsv.Header);
        var count = 0;
        await foreach (var row in Of(db, spot).OrderBy(c => c.At).ThenBy(c => c.Id).AsAsyncEnumerable().WithCancellation(cancellationToken))
        {
            await writer.WriteLineAsync(CheckCsv.Line(Check(row)));
            count++;
        }

        return count;
    }

    public async Task<SpotAgreement?> CompareAsync(SpotId spot, CancellationToken cancellationToken)
    {
        if (catalogue.Find(spot) is not { } known)
            return null;
        await using var db = await registry.CreateDbContextAsync(cancellationToken);
        var rows = await Of(db, spot).OrderByDescending(c => c.At).Take(CheckComparison.MostChecks).ToListAsync(cancellationToken);
        return await comparison.CompareAsync(known, [.. rows.OrderBy(r => r.At).Select(Check)], cancellationToken);
    }

    private async Task<int> AddAsync(IReadOnlyList<SpotCheck> checks, ClaimsPrincipal? by, CancellationToken cancellationToken)
    {
        await using var db = await registry.CreateDbContextAsync(cancellationToken);
        var (first, last) = (checks.Min(c => c.At), checks.Max(c => c.At));
        var there = (await db.SpotChecks.AsNoTracking().Where(c => c.At >= first && c.At <= last)
            .Select(c => new { c.SpotId, c.At, c.Instrument, c.ShownCelsius }).ToListAsync(cancellationToken))
            .Select(c => (c.SpotId, c.At, c.Instrument, c.ShownCelsius)).ToHashSet();
        var now = time.GetUtcNow();
        var person = by is null ? null : Visitor.PersonId(by);
        var fresh = checks.Where(c => there.Add((c.Spot.Value, c.At, c.Thermometer, c.ShownCelsius))).ToList();
        db.SpotChecks.AddRange(fresh.Select(c => new SpotCheckRow
        {
            SpotId = c.Spot.Value,
            At = c.At,
            ShownCelsius = c.ShownCelsius,
            EmissivityFraction = c.EmissivityFraction,
            Ground = c.Ground,
            PersonId = person,
            EnteredAt = now,
            Instrument = c.Thermometer,
            Note = c.Note,
        }));
        await db.SaveChangesAsync(cancellationToken);
        // What is doubted may be right after all. In a van's shade, or on wet ground, the two agree and say nothing of the ground beside.
        foreach (var check in fresh.Where(c => c.Ground == CheckedGround.Sun && (now - c.At).Duration() <= OfNow))
        {
            if (judge.DoubtedSince(check.Spot) is not null && catalogue.Find(check.Spot) is { } spot)
                judge.Check(check.Spot, check.At, await comparison.ReferenceAsync(spot, check, cancellationToken));
        }

        return fresh.Count;
    }

    private static IQueryable<SpotCheckRow> Of(RegistryDb db, SpotId? spot) =>
        spot is { } id ? db.SpotChecks.AsNoTracking().Where(c => c.SpotId == id.Value) : db.SpotChecks.AsNoTracking();

    private static SpotCheck Check(SpotCheckRow row) => new(SpotId.Parse(row.SpotId), row.At, row.ShownCelsius)
    {
        EmissivityFraction = row.EmissivityFraction,
        Ground = row.Ground,
        Thermometer = row.Instrument,
        Note = row.Note,
    };
}
