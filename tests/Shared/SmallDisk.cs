using System.Diagnostics;

namespace PavementWatch.Tests;

/// <summary>A small disk that can be filled to the last byte or turned read-only; needs root on Linux, as mounting does.</summary>
internal sealed class SmallDisk : IDisposable
{
    private readonly string _filler;

    private SmallDisk(string folder, string? whyNot) => (Folder, WhyNot, _filler) = (folder, whyNot, Path.Combine(folder, "filler"));

    /// <summary>Where it is mounted; an ordinary folder where it could not be.</summary>
    public string Folder { get; }

    /// <summary>Why it is none; <c>null</c> when it is.</summary>
    public string? WhyNot { get; }

    /// <summary>Mounts one.</summary>
    /// <param name="folder">Where; made.</param>
    /// <param name="kilobytes">[KiB] Its size.</param>
    public static SmallDisk Mount(string folder, int kilobytes)
    {
        Directory.CreateDirectory(folder);
        var fault = OperatingSystem.IsLinux() ? Run("mount", "-t", "tmpfs", "-o", $"size={kilobytes}k", "none", folder) : "not on Linux";
        return new SmallDisk(folder, fault is null ? null : $"a small disk cannot be mounted here (needs root and CAP_SYS_ADMIN): {fault}");
    }

    /// <summary>Mounts one, or skips the test.</summary>
    public static SmallDisk Require(string folder, int kilobytes)
    {
        var disk = Mount(folder, kilobytes);
        Assert.SkipWhen(disk.WhyNot is not null, disk.WhyNot ?? "");
        return disk;
    }

    /// <summary>Mounts it anew, <c>ro</c> or <c>rw</c>, or skips the test.</summary>
    public void Remount(string mode) =>
        Assert.SkipUnless(Run("mount", "-o", $"remount,{mode}", Folder) is null, "a disk cannot be made read-only here");

    /// <summary>Leaves not a byte.</summary>
    public void Fill()
    {
        using var filler = new FileStream(_filler, FileMode.Append, FileAccess.Write, FileShare.None, bufferSize: 0);
        for (var size = 64 * 1024; size > 0;)
        {
            try
            {
                filler.Write(new byte[size]);
            }
            catch (IOException)
            {
                size /= 2;
            }
        }
    }

    /// <summary>Gives the room back.</summary>
    public void Free() => File.Delete(_filler);

    public void Dispose()
    {
        if (WhyNot is null)
            Run("umount", "-l", Folder);
        Directory.Delete(Folder, recursive: true);
    }

    private static string? Run(string program, params string[] arguments)
    {
        using var process = Process.Start(new ProcessStartInfo(program, arguments) { RedirectStandardError = true })!;
        var said = process.StandardError.ReadToEnd();
        process.WaitForExit();
        return process.ExitCode == 0 ? null : said.Trim();
    }
}
