using PavementWatch.Tests;

namespace PavementWatch.Gateway.Tests.Hardware;

/// <summary><c>hardware/README.md</c>, taken apart.</summary>
internal static class HardwarePage
{
    public static string Folder { get; } = Path.Combine(SharedData.RepositoryRoot, "hardware");

    public static IReadOnlyList<string> Lines { get; } = File.ReadAllLines(Path.Combine(Folder, "README.md"));

    /// <summary>The lines of every fenced block of a language.</summary>
    public static IEnumerable<IReadOnlyList<string>> Blocks(string language)
    {
        List<string>? block = null;
        foreach (var line in Lines)
        {
            if (block is null)
            {
                if (line == "```" + language)
                    block = [];
            }
            else if (line == "```")
            {
                yield return block;
                block = null;
            }
            else
            {
                block.Add(line);
            }
        }
    }

    /// <summary>The rows of the table whose head starts with the given cell, each as its cells.</summary>
    public static IReadOnlyList<string[]> Table(string firstHead)
    {
        var rows = Lines.SkipWhile(l => !l.StartsWith($"| {firstHead} |", StringComparison.Ordinal))
            .TakeWhile(l => l.StartsWith('|'))
            .Skip(2)
            .Select(l => l.Trim('|', ' ').Split('|', StringSplitOptions.TrimEntries))
            .ToList();
        Assert.NotEmpty(rows);
        return rows;
    }

    /// <summary>What is typed after a <c>$ gateway</c> or at the start of a line of a shell block, as arguments.</summary>
    public static string[] Arguments(string command) =>
        command.Split(' ', StringSplitOptions.RemoveEmptyEntries | StringSplitOptions.TrimEntries);
}
