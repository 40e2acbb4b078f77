using System.Globalization;
using Microsoft.Data.Sqlite;

namespace PavementWatch.Gateway.Outbox;

/// <summary>An outbox file that SQLite calls damaged: put beside the new one, and read as far as it can be.</summary>
internal static class DamagedFile
{
    private static readonly string[] Companions = ["", "-wal", "-shm"];

    /// <summary>Renames the file and its log to <c>NAME.damaged-yyyyMMddTHHmmss</c>.</summary>
    /// <returns>The new name.</returns>
    public static string SetAside(string path, DateTimeOffset now)
    {
        var name = string.Create(CultureInfo.InvariantCulture, $"{path}.damaged-{now:yyyyMMdd'T'HHmmssfff}");
        foreach (var companion in Companions.Where(companion => File.Exists(path + companion)))
            File.Move(path + companion, name + companion, overwrite: true);
        return name;
    }

    /// <summary>The dated readings that can still be read, in order, up to the first damaged page.</summary>
    public static List<TakenReading> Rescue(string path)
    {
        var rescued = new List<TakenReading>();
        try
        {
            using var file = OutboxFile.OpenUnchecked(path);
            for (long after = 0; file.Peek(after, 500) is { Count: > 0 } entries; after = entries[^1].Number)
                rescued.AddRange(entries.Select(entry => new TakenReading(entry.Reading, Boot: "", TimeSpan.Zero, Dated: true)));
        }
        catch (Exception error) when (error is SqliteException or FormatException or InvalidCastException or ArgumentOutOfRangeException or OverflowException)
        {
            // What was read before the damage is the result.
        }
        return rescued;
    }
}
