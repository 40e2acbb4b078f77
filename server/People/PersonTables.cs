using Microsoft.EntityFrameworkCore;
using PavementWatch.Server.Database;

namespace PavementWatch.Server.People;

/// <summary>The registry's tables of this folder.</summary>
internal static class PersonTables
{
    extension(RegistryDb db)
    {
        public DbSet<SessionRow> Sessions => db.Set<SessionRow>();

        public DbSet<SignInLinkRow> SignInLinks => db.Set<SignInLinkRow>();
    }
}
