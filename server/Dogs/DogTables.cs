using Microsoft.EntityFrameworkCore;
using PavementWatch.Server.Database;

namespace PavementWatch.Server.Dogs;

/// <summary>The registry's tables of this folder.</summary>
internal static class DogTables
{
    extension(RegistryDb db)
    {
        public DbSet<OwnerLinkRow> OwnerLinks => db.Set<OwnerLinkRow>();

        public DbSet<DogRow> Dogs => db.Set<DogRow>();
    }
}
