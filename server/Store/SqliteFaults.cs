using Microsoft.Data.Sqlite;

namespace PavementWatch.Server.Store;

/// <summary>What is wrong with a store that cannot be used just now.</summary>
internal enum StoreFault
{
    /// <summary>Something else: rights, a lock, a server that does not answer.</summary>
    Other = 0,

    /// <summary>Its disk has no room.</summary>
    Full,

    /// <summary>Its file is damaged; nothing but a copy helps.</summary>
    Damaged,
}

/// <summary>What SQLite's result codes mean here, and the remedy (sqlite.org/rescode.html).</summary>
internal static class SqliteFaults
{
    private const int Busy = 5;
    private const int ReadOnly = 8;
    private const int InputOutput = 10;
    private const int Corrupt = 11;
    private const int Full = 13;
    private const int CannotOpen = 14;
    private const int NotADatabase = 26;

    public static StoreFault KindOf(SqliteException failure) => failure.SqliteErrorCode switch
    {
        Full => StoreFault.Full,
        Corrupt or NotADatabase => StoreFault.Damaged,
        _ => StoreFault.Other,
    };

    /// <summary>Whether a database takes nothing just now, as its disk or file does not; a mistake in what was asked is none of it.</summary>
    public static bool TakesNothing(Exception failure) =>
        failure.GetBaseException() is SqliteException { SqliteErrorCode: Busy or ReadOnly or InputOutput or Corrupt or Full or CannotOpen or NotADatabase };

    /// <summary>What SQLite said, and what to do about it.</summary>
    public static string Words(SqliteException failure) => failure.Message + "; " + failure.SqliteErrorCode switch
    {
        Full => "its disk has no free space: make room there",
        Corrupt or NotADatabase =>
            "the file is damaged: look at the disk (dmesg, smartctl), stop the server, and put the last backup in its place with: restore FROM",
        ReadOnly or CannotOpen => "look at the rights of the file and its folder, and whether the disk is mounted read-only",
        InputOutput => "look at the disk and its free space (dmesg, df)",
        _ => "look at the file's rights and the disk's free space",
    };
}
