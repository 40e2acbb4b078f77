using Microsoft.EntityFrameworkCore;
using PavementWatch.Server.Database;

namespace PavementWatch.Server.Gateways;

/// <summary>The registry's tables of this folder.</summary>
internal static class GatewayTables
{
    extension(RegistryDb db)
    {
        public DbSet<GatewayRow> Gateways => db.Set<GatewayRow>();

        public DbSet<GatewaySpotRow> GatewaySpots => db.Set<GatewaySpotRow>();

        public DbSet<FormerGatewaySpotRow> FormerGatewaySpots => db.Set<FormerGatewaySpotRow>();

        public DbSet<EnrolmentCodeRow> EnrolmentCodes => db.Set<EnrolmentCodeRow>();
    }
}
