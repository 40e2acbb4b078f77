using System.Data.Common;
using Microsoft.Data.Sqlite;
using Microsoft.EntityFrameworkCore;
using PavementWatch.Server.Store;

namespace PavementWatch.Server.Database;

/// <summary>Brings the registry's tables up to date and has what is kept of it in memory read before anything else starts.</summary>
/// <param name="registry">The registry.</param>
/// <param name="folder">Where it is.</param>
/// <param name="alone">Taken only where tables change: not beneath a running server.</param>
/// <param name="inMemory">What is read.</param>
/// <param name="logger">Told of changes.</param>
internal sealed class RegistryStart(
    IDbContextFactory<RegistryDb> registry, DataFolder folder, Lazy<DataFolderLock> alone, IEnumerable<IReadAtStart> inMemory, ILogger<RegistryStart> logger)
    : IHostedLifecycleService, IDisposable
{
    // The last connection to close takes the files beside the registry along, and on a full disk nobody could open it again, not even to read.
    private DbConnection? _kept;

    /// <summary>Copies from before a change of tables that are kept.</summary>
    public const int CopiesKept = 3;

    public async Task StartingAsync(CancellationToken cancellationToken)
    {
        folder.RequireWhole();
        var began = TimeProvider.System.GetTimestamp();
        try
        {
            await using (var db = await registry.CreateDbContextAsync(cancellationToken))
            {
                await UpdateAsync(db, cancellationToken);
                // A copy of a database is not kept so, wherever it came from: whoever reads would then lock out whoever writes.
                await db.Database.ExecuteSqlRawAsync("PRAGMA journal_mode = WAL", cancellationToken);
            }

            _kept ??= await KeepAsync(cancellationToken);
            foreach (var part in inMemory)
                await part.RefreshAsync(cancellationToken);
            var milliseconds = (long)TimeProvider.System.GetElapsedTime(began).TotalMilliseconds;
            logger.Ready(milliseconds);
        }
        catch (SqliteException failure)
        {
            throw new IOException($"registry {folder.File("registry.sqlite")}: {DatabaseFaults.Words(failure)}", failure);
        }
    }

    public void Dispose() => _kept?.Dispose();

    public Task StartAsync(CancellationToken cancellationToken) => Task.CompletedTask;

    public Task StartedAsync(CancellationToken cancellationToken) => Task.CompletedTask;

    public Task StoppingAsync(CancellationToken cancellationToken) => Task.CompletedTask;

    public Task StopAsync(CancellationToken cancellationToken) => Task.CompletedTask;

    public Task StoppedAsync(CancellationToken cancellationToken) => Task.CompletedTask;

    private async Task<DbConnection> KeepAsync(CancellationToken cancellationToken)
    {
        var connection = DatabaseCopy.OpenForWriting(folder.File("registry.sqlite"));
        await using var look = connection.CreateCommand();
        look.CommandText = "SELECT COUNT(*) FROM sqlite_master";
        await look.ExecuteScalarAsync(cancellationToken);
        return connection;
    }

    private async Task UpdateAsync(RegistryDb db, CancellationToken cancellationToken)
    {
        var path = folder.File("registry.sqlite");
        var known = db.Database.GetMigrations().ToList();
        var applied = (await db.Database.GetAppliedMigrationsAsync(cancellationToken)).ToList();
        RegistryEdition.Accept($"registry {path}", applied, known);
        if (known.Count == applied.Count)
            return;
        _ = alone.Value;
        if (applied.Count > 0)
            await CopyAsync(path, applied[^1], cancellationToken);
        await db.Database.MigrateAsync(cancellationToken);
    }

    // A change of tables that is cut off or was a mistake leaves nothing that the older server could use.
    private async Task CopyAsync(string path, string last, CancellationToken cancellationToken)
    {
        var copies = Directory.CreateDirectory(folder.File("registry-copies"));
        var copy = Path.Combine(copies.FullName, $"registry-{last}.sqlite");
        // Made by a start that was cut off: the tables may be half changed since.
        if (File.Exists(copy))
            return;
        await DatabaseCopy.MakeAsync(path, copy + ".making", cancellationToken);
        File.Move(copy + ".making", copy);
        logger.CopiedBefore(copy);
        foreach (var old in copies.EnumerateFiles("registry-*.sqlite").OrderByDescending(f => f.Name, StringComparer.Ordinal).Skip(CopiesKept))
            old.Delete();
    }
}
