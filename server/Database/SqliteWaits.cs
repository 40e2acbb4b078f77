using System.Data.Common;
using Microsoft.Data.Sqlite;
using Microsoft.EntityFrameworkCore.Diagnostics;
using SQLitePCL;

namespace PavementWatch.Server.Database;

/// <summary>Lets SQLite itself wait for another's write, which looks again after milliseconds. By itself the provider looks again only after 150 ms, which a tick over all spots then takes longer.</summary>
internal sealed class SqliteWaits : DbConnectionInterceptor
{
    // Longer than a write takes; after that the provider's own patience goes on.
    private const int Milliseconds = 1000;

    public override void ConnectionOpened(DbConnection connection, ConnectionEndEventData eventData) => Wait(connection);

    public override Task ConnectionOpenedAsync(DbConnection connection, ConnectionEndEventData eventData, CancellationToken cancellationToken = default)
    {
        Wait(connection);
        return Task.CompletedTask;
    }

    private static void Wait(DbConnection connection)
    {
        if (connection is SqliteConnection { Handle: { } handle })
            raw.sqlite3_busy_timeout(handle, Milliseconds);
    }
}
