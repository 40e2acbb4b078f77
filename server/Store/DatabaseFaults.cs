using System.Data.Common;
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

/// <summary>What a database's own codes mean here, and the remedy. SQLite's: sqlite.org/rescode.html.</summary>
internal static class DatabaseFaults
{
    private const int Busy = 5;
    private const int ReadOnly = 8;
    private const int InputOutput = 10;
    private const int Corrupt = 11;
    private const int Full = 13;
    private const int CannotOpen = 14;
    private const int NotADatabase = 26;

    public static StoreFault KindOf(DbException failure) => CodeOf(failure) switch
    {
        Full => StoreFault.Full,
        Corrupt or NotADatabase => StoreFault.Damaged,
        _ => StoreFault.Other,
    };

    /// <summary>Whether a database takes nothing just now, as its disk or file does not; a mistake in what was asked is none of it.</summary>
    public static bool TakesNothing(Exception failure) =>
        CodeOf(failure.GetBaseException()) is Busy or ReadOnly or InputOutput or Corrupt or Full or CannotOpen or NotADatabase;

    /// <summary>What the database said, and what to do about it.</summary>
    public static string Words(DbException failure) => failure.Message + "; " + CodeOf(failure) switch
    {
        Full => "its disk has no free space: make room there",
        Corrupt or NotADatabase =>
            "the file is damaged: look at the disk (dmesg, smartctl), stop the server, and put the last backup in its place with: restore FROM",
        ReadOnly or CannotOpen => "look at the rights of the file and its folder, and whether the disk is mounted read-only",
        InputOutput => "look at the disk and its free space (dmesg, df)",
        _ => "look at the file's rights and the disk's free space",
    };

    private static int? CodeOf(Exception failure) => (failure as SqliteException)?.SqliteErrorCode;
}
