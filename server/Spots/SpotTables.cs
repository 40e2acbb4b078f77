using Microsoft.EntityFrameworkCore;
using PavementWatch.Server.Database;

namespace PavementWatch.Server.Spots;

/// <summary>The registry's tables of this folder.</summary>
internal static class SpotTables
{
    extension(RegistryDb db)
    {
        public DbSet<SpotRow> Spots => db.Set<SpotRow>();
    }
}
