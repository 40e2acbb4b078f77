using Microsoft.Data.Sqlite;
using Microsoft.EntityFrameworkCore;
using PavementWatch.Server.Store;

namespace PavementWatch.Server.Database;

/// <summary>Writes the registry's file anew.</summary>
internal static class RegistryRewrite
{
    // A page or the watch reads for milliseconds.
    private const int TriesToEmptyTheLog = 50;

    /// <summary>Leaves nothing in the file and its log of what was removed or changed, now or at any time before: SQLite frees pages, it does not empty them.</summary>
    /// <returns><c>null</c>, or what is left and how to be rid of it.</returns>
    public static async Task<string?> RunAsync(RegistryDb db)
    {
        var file = db.Database.GetDbConnection().DataSource;
        try
        {
            await db.Database.ExecuteSqlRawAsync("VACUUM", CancellationToken.None);
            await using var truncate = db.Database.GetDbConnection().CreateCommand();
            truncate.CommandText = "PRAGMA wal_checkpoint(TRUNCATE)";
            for (var i = 0; i < TriesToEmptyTheLog; i++)
            {
                await using var row = await truncate.ExecuteReaderAsync(CancellationToken.None);
                if (await row.ReadAsync(CancellationToken.None) && row.GetInt64(0) == 0)
                    return null;
                await Task.Delay(TimeSpan.FromMilliseconds(100), TimeProvider.System, CancellationToken.None);
            }

            return $"remnants may be left in {file}-wal, which is read all the time; they go when the server is stopped";
        }
        catch (SqliteException failure)
        {
            return $"remnants are left in {file}, which could not be written anew: {DatabaseFaults.Words(failure)}; when that is mended run: sqlite3 {file} VACUUM";
        }
    }
}
