using Microsoft.EntityFrameworkCore;
using PavementWatch.Server.Database;

namespace PavementWatch.Server.Devices;

/// <summary>The registry's tables of this folder.</summary>
internal static class DeviceTables
{
    extension(RegistryDb db)
    {
        public DbSet<FollowRow> Follows => db.Set<FollowRow>();

        public DbSet<PushSubscriptionRow> PushSubscriptions => db.Set<PushSubscriptionRow>();
    }
}
