using Microsoft.EntityFrameworkCore;
using PavementWatch.Server.Database;

namespace PavementWatch.Server.Watch;

/// <summary>The registry's tables of this folder.</summary>
internal static class WatchTables
{
    extension(RegistryDb db)
    {
        public DbSet<AlertMemoryRow> AlertMemories => db.Set<AlertMemoryRow>();
    }
}
