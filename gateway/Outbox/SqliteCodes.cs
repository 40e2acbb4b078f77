namespace PavementWatch.Gateway.Outbox;

/// <summary>SQLite's result codes the outbox acts on (sqlite.org/rescode.html).</summary>
internal static class SqliteCodes
{
    public const int ReadOnly = 8;
    public const int InputOutput = 10;
    public const int Corrupt = 11;
    public const int Full = 13;
    public const int CannotOpen = 14;
    public const int NotADatabase = 26;
}
