using Microsoft.EntityFrameworkCore;
using PavementWatch.Server.Database;

namespace PavementWatch.Server.Checks;

/// <summary>The registry's tables of this folder.</summary>
internal static class CheckTables
{
    extension(RegistryDb db)
    {
        public DbSet<SpotCheckRow> SpotChecks => db.Set<SpotCheckRow>();

        public DbSet<AgreementThresholdsRow> AgreementThresholds => db.Set<AgreementThresholdsRow>();
    }
}
