using System.Data.Common;
using Microsoft.Data.Sqlite;

namespace PavementWatch.Server.Store;

/// <summary>Copies of a SQLite file that are whole: made while it is in use, checked, and on the disk when the call returns.</summary>
internal static class DatabaseCopy
{
    /// <summary>What SQLite keeps beside a file. Beside another file of the same name they would be written into it.</summary>
    public static readonly IReadOnlyList<string> Neighbours = ["-wal", "-shm", "-journal"];

    /// <summary>One moment's state of a file, also while somebody writes to it.</summary>
    /// <exception cref="IOException">The file cannot be read or the copy not be written; no copy is left. Says which.</exception>
    public static async Task MakeAsync(string from, string to, CancellationToken cancellationToken)
    {
        try
        {
            await using (var source = OpenForWriting(from))
            {
                await using var copy = source.CreateCommand();
                copy.CommandText = "VACUUM INTO $to";
                var target = copy.CreateParameter();
                (target.ParameterName, target.Value) = ("$to", to);
                copy.Parameters.Add(target);
                await copy.ExecuteNonQueryAsync(cancellationToken);
            }

            await using (var written = OpenForReading(to))
                await CheckAsync(written, to, cancellationToken);
            await FlushAsync(to, cancellationToken);
        }
        catch (DbException failure)
        {
            Remove(to);
            // A full disk is that of the copy: nothing is written to the source.
            throw new IOException(
                DatabaseFaults.KindOf(failure) == StoreFault.Full
                    ? $"{to} cannot be written: {failure.Message}; make room on its disk, or name another"
                    : $"{from} cannot be copied: {DatabaseFaults.Words(failure)}",
                failure);
        }
        catch
        {
            Remove(to);
            throw;
        }
    }

    /// <summary>Reads a file from end to end.</summary>
    /// <exception cref="IOException">It is damaged.</exception>
    public static async Task CheckAsync(DbConnection connection, string path, CancellationToken cancellationToken)
    {
        await using var check = connection.CreateCommand();
        check.CommandText = "PRAGMA integrity_check(1)";
        if (await check.ExecuteScalarAsync(cancellationToken) is var found && found is not "ok")
            throw new IOException($"{path} does not pass its integrity check: {found}");
    }

    /// <summary>Opens a connection of its own, which leaves no hold on the file.</summary>
    public static DbConnection OpenForReading(string path) => Open(path, SqliteOpenMode.ReadOnly);

    /// <inheritdoc cref="OpenForReading"/>
    public static DbConnection OpenForWriting(string path) => Open(path, SqliteOpenMode.ReadWrite);

    /// <summary>Writes into a file what stands beside it, and leaves it without neighbours once it is closed.</summary>
    public static async Task MergeAsync(DbConnection connection, CancellationToken cancellationToken)
    {
        await using var merge = connection.CreateCommand();
        merge.CommandText = "PRAGMA journal_mode = DELETE";
        await merge.ExecuteNonQueryAsync(cancellationToken);
    }

    /// <summary>Returns when the disk has the file.</summary>
    public static async Task FlushAsync(string path, CancellationToken cancellationToken)
    {
        await using var file = new FileStream(path, FileMode.Open, FileAccess.ReadWrite);
        await file.FlushAsync(cancellationToken);
        file.Flush(flushToDisk: true);
    }

    /// <summary>Removes a file and what belongs to it.</summary>
    public static void Remove(string path)
    {
        File.Delete(path);
        foreach (var neighbour in Neighbours)
            File.Delete(path + neighbour);
    }

    private static SqliteConnection Open(string path, SqliteOpenMode mode)
    {
        var connection = new SqliteConnection(
            new SqliteConnectionStringBuilder { DataSource = path, Mode = mode, Pooling = false }.ToString());
        try
        {
            connection.Open();
            return connection;
        }
        catch
        {
            connection.Dispose();
            throw;
        }
    }
}
