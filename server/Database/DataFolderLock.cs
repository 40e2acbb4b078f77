using System.Globalization;
using Microsoft.Extensions.Options;
using PavementWatch.Server.Store;

namespace PavementWatch.Server.Database;

/// <summary>Keeps a data folder for one server at a time. Two on one folder would each show and tell half of what comes in.</summary>
/// <remarks>
/// The lock is the system's and ends with the process, however it ends; the files that are left behind mean nothing. It is taken
/// before a database is opened. The operator's commands that read or add do not need it; restore does, and whatever changes tables.
/// </remarks>
internal sealed class DataFolderLock : IHostedService, IDisposable
{
    private const string LockName = "server.lock";

    // The number cannot stand in the locked file: on some systems nobody else may read that.
    private const string HolderName = "server.pid";

    // EWOULDBLOCK of Linux and of macOS, ERROR_SHARING_VIOLATION of Windows.
    private static readonly int[] Held = [11, 35, unchecked((int)0x80070020)];

    private readonly List<FileStream> _locks = [];

    /// <summary>Takes the data folder and, where the readings are kept elsewhere, their folder too.</summary>
    /// <exception cref="IOException">Another process has it.</exception>
    public DataFolderLock(DataFolder folder, IOptions<StoreOptions> store)
    {
        string[] folders = store.Value.Kind == StoreKind.Sqlite
            ? [folder.Path, Path.GetDirectoryName(Path.GetFullPath(store.Value.Path)) ?? folder.Path]
            : [folder.Path];
        try
        {
            foreach (var one in folders.Distinct(StringComparer.Ordinal))
                _locks.Add(Take(one));
        }
        catch
        {
            Dispose();
            throw;
        }
    }

    /// <summary>Process number of the server that has a folder now; <c>null</c> when none has, or it cannot be told.</summary>
    public static int? HolderOf(string folder)
    {
        try
        {
            return int.Parse(File.ReadAllText(Path.Combine(folder, HolderName)), CultureInfo.InvariantCulture);
        }
        catch (Exception e) when (e is IOException or UnauthorizedAccessException or FormatException or OverflowException)
        {
            return null;
        }
    }

    public Task StartAsync(CancellationToken cancellationToken) => Task.CompletedTask;

    public Task StopAsync(CancellationToken cancellationToken) => Task.CompletedTask;

    public void Dispose()
    {
        foreach (var held in _locks)
            held.Dispose();
        _locks.Clear();
    }

    private static FileStream Take(string folder)
    {
        Directory.CreateDirectory(folder);
        FileStream held;
        try
        {
            held = new FileStream(Path.Combine(folder, LockName), FileMode.OpenOrCreate, FileAccess.ReadWrite, FileShare.None);
        }
        catch (IOException taken) when (Held.Contains(taken.HResult))
        {
            var holder = HolderOf(folder) is { } process ? $"process {process}" : "another process";
            throw new IOException(
                $"data folder {folder}: a server has it open already ({holder}); stop that one first, or name another folder with --Data:Folder=", taken);
        }

        try
        {
            File.WriteAllText(Path.Combine(folder, HolderName), Environment.ProcessId.ToString(CultureInfo.InvariantCulture));
        }
        catch (IOException)
        {
            // A full disk: the lock holds, the number is only for words.
        }

        return held;
    }
}
