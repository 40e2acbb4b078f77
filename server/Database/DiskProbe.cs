using Microsoft.Extensions.Options;
using PavementWatch.Server.Hosting;
using PavementWatch.Server.Store;

namespace PavementWatch.Server.Database;

/// <summary>Looks whether the disk of the data folder still takes what is written: by writing, flushing and removing a small file.</summary>
/// <remarks>A database that answers, or that takes a row and gives it back, does not notice a full disk.</remarks>
internal sealed class DiskProbe(
    DataFolder folder, IOptions<DataOptions> data, IOptions<StoreOptions> store, StoreCondition condition) : ServerBackgroundService
{
    /// <summary>[B] What is written.</summary>
    public const int Bytes = 64 * 1024;

    private static readonly TimeSpan LongestProbe = TimeSpan.FromSeconds(10);

    // ENOSPC and EDQUOT of Linux, ENOSPC is the same on macOS; ERROR_DISK_FULL of Windows.
    private static readonly int[] NoRoom = [28, 122, unchecked((int)0x80070070)];

    protected override async Task RunAsync(CancellationToken stoppingToken)
    {
        // By the time of the machine: a disk fills in that, whatever the spots' clock says.
        using var timer = new PeriodicTimer(data.Value.ProbeEvery, TimeProvider.System);
        try
        {
            do
            {
                var probing = Task.Run(Probe, stoppingToken);
                await probing.WaitAsync(LongestProbe, TimeProvider.System, stoppingToken).ConfigureAwait(ConfigureAwaitOptions.SuppressThrowing);
                if (!probing.IsCompleted && !stoppingToken.IsCancellationRequested)
                    condition.NotProbed(StoreFault.Other, $"the disk of {folder.Path} hangs: {Bytes / 1024} KiB are not written after {LongestProbe.TotalSeconds:F0} s; look at the disk (dmesg)");
                await probing.WaitAsync(stoppingToken);
            }
            while (await timer.WaitForNextTickAsync(stoppingToken));
        }
        catch (OperationCanceledException) when (stoppingToken.IsCancellationRequested)
        {
            // The server stops.
        }
    }

    private void Probe()
    {
        string[] folders = store.Value.Kind == StoreKind.Sqlite
            ? [folder.Path, Path.GetDirectoryName(Path.GetFullPath(store.Value.Path)) ?? folder.Path]
            : [folder.Path];
        foreach (var one in folders.Distinct(StringComparer.Ordinal))
        {
            try
            {
                Write(Path.Combine(one, ".probe"));
            }
            catch (Exception failure) when (failure is IOException or UnauthorizedAccessException)
            {
                var isFull = NoRoom.Contains(failure.HResult);
                condition.NotProbed(
                    isFull ? StoreFault.Full : StoreFault.Other,
                    isFull
                        ? $"the disk of {one} is full: {Bytes / 1024} KiB could not be written; make room there"
                        : $"the disk of {one} takes nothing: {failure.Message.TrimEnd('.')}; look at its rights and at the disk (dmesg)");
                return;
            }
        }

        condition.Probed();
    }

    private static void Write(string path)
    {
        var junk = new byte[Bytes];
        Array.Fill(junk, (byte)0x5A);
        try
        {
            using var file = new FileStream(path, FileMode.Create, FileAccess.Write, FileShare.None, bufferSize: 1);
            file.Write(junk);
            file.Flush(flushToDisk: true);
        }
        finally
        {
            File.Delete(path);
        }
    }
}
