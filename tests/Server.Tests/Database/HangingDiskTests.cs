using System.Diagnostics;
using PavementWatch.Server.Faults;
using PavementWatch.Server.Store;
using PavementWatch.Server.Tests.Api;
using PavementWatch.Tests;

namespace PavementWatch.Server.Tests.Database;

/// <summary>A disk that neither takes what is written nor fails.</summary>
public sealed class HangingDiskTests : IDisposable
{
    private readonly string _folder = Directory.CreateTempSubdirectory("pw-hanging-").FullName;

    private static CancellationToken Cancel => TestContext.Current.CancellationToken;

    public void Dispose() => Directory.Delete(_folder, recursive: true);

    [Fact]
    public async Task A_probe_that_hangs_is_a_fault_until_it_ends()
    {
        Assert.SkipUnless(File.Exists("/usr/bin/mkfifo"), "there is no mkfifo here");
        // Whoever writes into a pipe waits until somebody reads.
        var pipe = Path.Combine(_folder, ".probe");
        using (var made = Process.Start("/usr/bin/mkfifo", [pipe]))
            await made.WaitForExitAsync(Cancel);
        await using var server = await RunningServer.StartAsync(folder: _folder, settings: new Dictionary<string, string?> { ["Data:ProbeEvery"] = "00:00:01" });
        var faults = server.Get<ServiceFaults>();

        await Patience.UntilAsync(
            () => faults.Standing.Any(fault => fault.Key == StoreCondition.Write && fault.Words.Contains("hangs", StringComparison.Ordinal)),
            () => $"nobody says that the disk hangs, only: {string.Join("; ", faults.Standing.Select(fault => fault.Words))}");

        await Task.Run(
            () =>
            {
                using var reader = new FileStream(pipe, FileMode.Open, FileAccess.Read);
                reader.CopyTo(Stream.Null);
            },
            Cancel);
        await Patience.UntilAsync(() => faults.Standing.All(fault => fault.Key != StoreCondition.Write), () => "the fault does not end");
    }
}
