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

    /// <summary>Overwrites the leaves of a table without row numbers that hold a text.</summary>
    /// <returns>How many.</returns>
    public static int PagesWith(string path, string text)
    {
        var file = File.ReadAllBytes(path);
        var sought = System.Text.Encoding.UTF8.GetBytes(text);
        // 0x0A is a leaf (sqlite.org/fileformat2.html, section 1.6); the first page holds the tables' names.
        var pages = Enumerable.Range(1, (file.Length / PageBytes) - 1)
            .Where(page => file[page * PageBytes] == 0x0A && file.AsSpan(page * PageBytes, PageBytes).IndexOf(sought) >= 0).ToList();
        foreach (var page in pages)
            Pages(path, page + 1, 1);
        return pages.Count;
    }
}
