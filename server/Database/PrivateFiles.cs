using System.Diagnostics.CodeAnalysis;
using System.Runtime.InteropServices;

namespace PavementWatch.Server.Database;

/// <summary>Keeps what the server writes from the other users of the machine: keys, links' hashes, readings.</summary>
internal static class PrivateFiles
{
    private const UnixFileMode OwnersFolder = UnixFileMode.UserRead | UnixFileMode.UserWrite | UnixFileMode.UserExecute;

    private const UnixFileMode Others =
        UnixFileMode.GroupRead | UnixFileMode.GroupWrite | UnixFileMode.GroupExecute
        | UnixFileMode.OtherRead | UnixFileMode.OtherWrite | UnixFileMode.OtherExecute;

    /// <summary>From now on this process makes files and folders that only its own user can read (umask 077), whoever makes them.</summary>
    public static void OnlyOwnFromNowOn()
    {
        if (!OperatingSystem.IsWindows())
            _ = SetMask((uint)Others);
    }

    /// <summary>Makes the folder, or takes the rights of group and others from one that is there and from all that is in it.</summary>
    /// <exception cref="IOException">It is everybody's, such as <c>/tmp</c>.</exception>
    /// <exception cref="UnauthorizedAccessException">It is open to others and belongs to somebody else; the message names the remedy.</exception>
    public static void Own(string folder)
    {
        if (OperatingSystem.IsWindows())
        {
            Directory.CreateDirectory(folder);
            return;
        }

        Directory.CreateDirectory(folder, OwnersFolder);
        if (Path.GetPathRoot(folder) == folder || (File.GetUnixFileMode(folder) & UnixFileMode.StickyBit) != 0)
            throw new IOException($"data folder {folder}: it belongs to everybody, expected one of this server's own; name a folder below it with Data:Folder");
        Tighten(folder, folder);
        // Links are left alone: what they lead to is not in the folder.
        var all = new EnumerationOptions { RecurseSubdirectories = true, AttributesToSkip = FileAttributes.ReparsePoint };
        foreach (var entry in Directory.EnumerateFileSystemEntries(folder, "*", all))
            Tighten(entry, folder);
    }

    /// <summary>Makes a folder that is the owner's alone; one that is there is left as it is.</summary>
    public static void MakeFolder(string folder)
    {
        if (OperatingSystem.IsWindows())
            Directory.CreateDirectory(folder);
        else
            Directory.CreateDirectory(folder, OwnersFolder);
    }

    /// <summary>Copies the files of a folder into one that is the owner's alone; without a folder to copy it is empty.</summary>
    public static void CopyFolder(string from, string to)
    {
        MakeFolder(to);
        if (!Directory.Exists(from))
            return;
        foreach (var file in Directory.EnumerateFiles(from))
        {
            var copy = Path.Combine(to, Path.GetFileName(file));
            File.Copy(file, copy);
            OnlyOwner(copy);
        }
    }

    /// <summary>Makes a file readable and writable by its owner alone.</summary>
    public static void OnlyOwner(string file)
    {
        if (!OperatingSystem.IsWindows())
            File.SetUnixFileMode(file, UnixFileMode.UserRead | UnixFileMode.UserWrite);
    }

    [System.Runtime.Versioning.UnsupportedOSPlatform("windows")]
    private static void Tighten(string path, string folder)
    {
        try
        {
            var mode = File.GetUnixFileMode(path);
            if ((mode & Others) != 0)
                File.SetUnixFileMode(path, mode & ~Others);
        }
        catch (Exception e) when (e is FileNotFoundException or DirectoryNotFoundException)
        {
            // A running server beside this verb has just removed it.
        }
        catch (UnauthorizedAccessException e)
        {
            throw new UnauthorizedAccessException(
                $"data folder {folder}: {path} is open to other users and belongs to somebody else, expected this user's own; "
                + $"run chown -R {Environment.UserName} {folder}, or name another folder with Data:Folder.", e);
        }
    }

    [DllImport("libc", EntryPoint = "umask", ExactSpelling = true)]
    [DefaultDllImportSearchPaths(DllImportSearchPath.SafeDirectories)]
    [SuppressMessage("Interoperability", "SYSLIB1054", Justification = "The generated form needs unsafe code for the whole project")]
    private static extern uint SetMask(uint mask);
}
