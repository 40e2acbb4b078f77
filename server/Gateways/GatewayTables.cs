using Microsoft.EntityFrameworkCore;
using PavementWatch.Server.Database;

namespace PavementWatch.Server.Gateways;

/// <summary>The registry's tables of this folder.</summary>
internal static class GatewayTables
{
    extension(RegistryDb db)
    {
        public DbSet<EnrolmentCodeRow> EnrolmentCodes => db.Set<EnrolmentCodeRow>();
    }
}
