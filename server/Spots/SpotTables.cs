using Microsoft.EntityFrameworkCore;
using PavementWatch.Server.Database;

namespace PavementWatch.Server.Spots;

/// <summary>The registry's tables of this folder.</summary>
internal static class SpotTables
{
    extension(RegistryDb db)
    {
        public DbSet<SpotRow> Spots => db.Set<SpotRow>();

        public DbSet<GatewayRow> Gateways => db.Set<GatewayRow>();

        public DbSet<GatewaySpotRow> GatewaySpots => db.Set<GatewaySpotRow>();

        public DbSet<FormerGatewaySpotRow> FormerGatewaySpots => db.Set<FormerGatewaySpotRow>();
    }
}
