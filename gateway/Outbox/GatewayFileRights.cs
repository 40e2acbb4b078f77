namespace PavementWatch.Gateway.Outbox;

/// <summary>Keeps what lies beside the outbox from the other users of the machine, also where an earlier build or somebody's hand left it open.</summary>
internal static class GatewayFileRights
{
    private const UnixFileMode Others =
        UnixFileMode.GroupRead | UnixFileMode.GroupWrite | UnixFileMode.GroupExecute
        | UnixFileMode.OtherRead | UnixFileMode.OtherWrite | UnixFileMode.OtherExecute;

    private static readonly string[] BesideTheOutbox = ["server-settings.json", "enrolment.json", "password", "authority.pem"];

    /// <summary>
    /// Takes the rights of group and others from the gateway's files, and from their folder where that is the gateway's own: a
    /// folder of everybody, the user's home or the program's folder stays as it is.
    /// </summary>
    /// <param name="outbox">The outbox's file.</param>
    /// <returns><c>null</c>, or what is open and belongs to somebody else, with the remedy. Readings are taken all the same.</returns>
    public static string? Tighten(string outbox)
    {
        if (OperatingSystem.IsWindows() || Path.GetDirectoryName(outbox) is not { Length: > 0 } folder)
            return null;
        var path = folder;
        try
        {
            if (IsOwn(folder))
                Tighten_Unix(folder);
            foreach (var file in Directory.EnumerateFiles(folder).Where(file => IsOurs(Path.GetFileName(file), Path.GetFileName(outbox))))
                Tighten_Unix(path = file);
            return null;
        }
        catch (Exception error) when (error is IOException or UnauthorizedAccessException)
        {
            return $"{path} is open to other users and cannot be closed to them ({error.Message.TrimEnd('.')}); run chown -R {Environment.UserName} {folder}";
        }
    }

    private static bool IsOurs(string name, string outbox) =>
        name.StartsWith(outbox, StringComparison.Ordinal) || BesideTheOutbox.Any(ours => name == ours || name.StartsWith(ours + '.', StringComparison.Ordinal));

    [System.Runtime.Versioning.UnsupportedOSPlatform("windows")]
    private static bool IsOwn(string folder) =>
        Path.GetPathRoot(folder) != folder
        && (File.GetUnixFileMode(folder) & UnixFileMode.StickyBit) == 0
        && folder != Path.TrimEndingDirectorySeparator(AppContext.BaseDirectory)
        && folder != Path.TrimEndingDirectorySeparator(Environment.GetFolderPath(Environment.SpecialFolder.UserProfile));

    [System.Runtime.Versioning.UnsupportedOSPlatform("windows")]
    private static void Tighten_Unix(string path)
    {
        // What a link leads to is somebody else's.
        if (File.GetAttributes(path).HasFlag(FileAttributes.ReparsePoint))
            return;
        var mode = File.GetUnixFileMode(path);
        if ((mode & Others) != 0)
            File.SetUnixFileMode(path, mode & ~Others);
    }
}
