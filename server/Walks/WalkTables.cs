using Microsoft.EntityFrameworkCore;
using PavementWatch.Server.Database;

namespace PavementWatch.Server.Walks;

/// <summary>The registry's tables of this folder.</summary>
internal static class WalkTables
{
    extension(RegistryDb db)
    {
        public DbSet<WalkRow> Walks => db.Set<WalkRow>();
    }
}
