namespace PavementWatch.Server.Hosting;

/// <summary>The server's own folder, with its settings: the project's when run from a build of it, else the program's.</summary>
internal static class ContentRoot
{
    public static string Path { get; } = Find();

    private static string Find()
    {
        for (var folder = new DirectoryInfo(AppContext.BaseDirectory); folder is not null; folder = folder.Parent)
        {
            if (File.Exists(System.IO.Path.Combine(folder.FullName, "PavementWatch.Server.csproj")))
                return folder.FullName;
        }

        return AppContext.BaseDirectory;
    }
}
