namespace PavementWatch.Tests;

/// <summary>The open measurements that stand beside the repository in <c>../shared/data</c>; they are others' data and not copied in.</summary>
internal static class SharedData
{
    public static string RepositoryRoot { get; } = FindRoot();

    /// <summary>Path of a file of <c>../shared/data</c>; skips the test, saying so, where it is missing.</summary>
    public static string RequireFile(string name)
    {
        var path = Path.Combine(RepositoryRoot, "..", "shared", "data", name);
        Assert.SkipUnless(File.Exists(path), $"the open measurements are not here: ../shared/data/{name}");
        return Path.GetFullPath(path);
    }

    private static string FindRoot()
    {
        var directory = new DirectoryInfo(AppContext.BaseDirectory);
        while (directory is not null && !File.Exists(Path.Combine(directory.FullName, "PavementWatch.sln")))
            directory = directory.Parent;
        return directory?.FullName ?? throw new InvalidOperationException("PavementWatch.sln not found above the tests");
    }
}
