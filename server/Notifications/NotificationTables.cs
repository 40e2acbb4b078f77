using Microsoft.EntityFrameworkCore;
using PavementWatch.Server.Database;

namespace PavementWatch.Server.Notifications;

/// <summary>The registry's tables of this folder.</summary>
internal static class NotificationTables
{
    extension(RegistryDb db)
    {
        public DbSet<AlertEventRow> AlertEvents => db.Set<AlertEventRow>();

        public DbSet<BusinessNoticeRow> BusinessNotices => db.Set<BusinessNoticeRow>();

        public DbSet<ConcernedWalkerRow> ConcernedWalkers => db.Set<ConcernedWalkerRow>();

        public DbSet<FaultRow> Faults => db.Set<FaultRow>();

        public DbSet<NotificationRow> Notifications => db.Set<NotificationRow>();
    }
}
