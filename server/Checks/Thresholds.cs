using Microsoft.EntityFrameworkCore;
using PavementWatch.Core.Agreement;
using PavementWatch.Core.Quantities;
using PavementWatch.Server.Database;

namespace PavementWatch.Server.Checks;

/// <summary>What the analyst asks of sensors and offsets; the newest setting rules, the older ones stay for the record.</summary>
internal sealed class Thresholds(IDbContextFactory<RegistryDb> registry, TimeProvider time)
{
    public async Task<AgreementThresholds> Async(CancellationToken cancellationToken)
    {
        await using var db = await registry.CreateDbContextAsync(cancellationToken);
        var row = await db.AgreementThresholds.AsNoTracking().OrderByDescending(t => t.Id).FirstOrDefaultAsync(cancellationToken);
        return row is null
            ? new AgreementThresholds()
            : new AgreementThresholds
            {
                LeastPairs = row.LeastPairs,
                MostBiasKelvin = row.MostBiasKelvin,
                MostDifferenceKelvin = row.MostDifferenceKelvin,
                LeastSpanKelvin = row.LeastSpanKelvin,
                // An exact one was taken once.
                ThermometerAccuracyKelvin = Math.Max(QuantityRanges.ThermometerAccuracy.Least, row.ThermometerAccuracyKelvin),
            };
    }

    public async Task SetAsync(AgreementThresholds asked, int? personId, string personName, CancellationToken cancellationToken)
    {
        await using var db = await registry.CreateDbContextAsync(cancellationToken);
        db.AgreementThresholds.Add(new AgreementThresholdsRow
        {
            LeastPairs = asked.LeastPairs,
            MostBiasKelvin = asked.MostBiasKelvin,
            MostDifferenceKelvin = asked.MostDifferenceKelvin,
            LeastSpanKelvin = asked.LeastSpanKelvin,
            ThermometerAccuracyKelvin = asked.ThermometerAccuracyKelvin,
            SetAt = time.GetUtcNow(),
            PersonId = personId,
            PersonName = personName,
        });
        await db.SaveChangesAsync(cancellationToken);
    }
}
