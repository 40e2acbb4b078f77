using Microsoft.EntityFrameworkCore;
using PavementWatch.Server.Database;

namespace PavementWatch.Server.Fitting;

/// <summary>The registry's tables of this folder.</summary>
internal static class FitTables
{
    extension(RegistryDb db)
    {
        public DbSet<FitRow> Fits => db.Set<FitRow>();

        public DbSet<FitDecisionRow> FitDecisions => db.Set<FitDecisionRow>();
    }
}
