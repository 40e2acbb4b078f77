using Microsoft.EntityFrameworkCore;
using PavementWatch.Server.Database;

namespace PavementWatch.Server.Notifications.WebPush;

/// <summary>The registry's tables of this folder.</summary>
internal static class WebPushTables
{
    extension(RegistryDb db)
    {
        public DbSet<VapidKeysRow> VapidKeys => db.Set<VapidKeysRow>();
    }
}
