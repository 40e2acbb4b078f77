using Microsoft.Data.Sqlite;

namespace PavementWatch.Gateway.Outbox;

/// <summary>SQLite's result codes the outbox acts on (sqlite.org/rescode.html).</summary>
internal static class SqliteCodes
{
    /// <summary>Also "no such column" and "no such table".</summary>
    public const int Error = 1;
    public const int ReadOnly = 8;
    public const int InputOutput = 10;
    public const int Corrupt = 11;
    public const int Full = 13;
    public const int CannotOpen = 14;
    public const int Schema = 17;
    public const int NotADatabase = 26;

    /// <summary>Whether the file itself is at fault and no try will mend it: damaged, or with other tables than ours.</summary>
    public static bool IsUnfit(SqliteException error) => IsDamaged(error) || error.SqliteErrorCode is Error or Schema;

    /// <summary>Whether the file is damaged.</summary>
    public static bool IsDamaged(SqliteException error) => error.SqliteErrorCode is Corrupt or NotADatabase;
}
