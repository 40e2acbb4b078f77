using System.Diagnostics.CodeAnalysis;
using System.Runtime.InteropServices;

namespace PavementWatch.Gateway.Hosting;

/// <summary>Keeps what the gateway writes from the other users of the machine, also where no unit of systemd does.</summary>
internal static class FileCreationMask
{
    // Octal 077: nothing for group and others.
    private const uint OthersRights = 63;

    /// <summary>From now on this process makes files and folders that only its own user can read, whoever makes them.</summary>
    public static void OwnerOnly()
    {
        if (!OperatingSystem.IsWindows())
            _ = SetMask(OthersRights);
    }

    [DllImport("libc", EntryPoint = "umask", ExactSpelling = true)]
    [DefaultDllImportSearchPaths(DllImportSearchPath.SafeDirectories)]
    [SuppressMessage("Interoperability", "SYSLIB1054", Justification = "The generated form needs unsafe code for the whole project")]
    private static extern uint SetMask(uint mask);
}
