namespace PavementWatch.Server.Tests.Store;

/// <summary>What a failing disk does to a SQLite file.</summary>
internal static class Damage
{
    private const int PageBytes = 4096;

    /// <summary>Overwrites pages; the first is page 1, which holds the tables' names.</summary>
    public static void Pages(string path, int from, int count)
    {
        using var file = new FileStream(path, FileMode.Open, FileAccess.ReadWrite, FileShare.ReadWrite);
        var last = (int)(file.Length / PageBytes);
        Assert.True(from + count - 1 <= last, $"{path} has {last} pages only");
        file.Seek((from - 1L) * PageBytes, SeekOrigin.Begin);
        var junk = new byte[count * PageBytes];
        Array.Fill(junk, (byte)0xA5);
        file.Write(junk);
    }
}
