using System.Diagnostics;
using PavementWatch.Gateway.Outbox;
using PavementWatch.Tests;

namespace PavementWatch.Gateway.Tests.Commands;

/// <summary>What the gateway writes is its own user's alone, also where no unit of systemd sees to it.</summary>
[System.Runtime.Versioning.UnsupportedOSPlatform("windows")]
public sealed class PrivateFilesTests : IDisposable
{
    private const UnixFileMode Others = (UnixFileMode)0b111_111;

    private static readonly string Program = Path.Combine(AppContext.BaseDirectory, "PavementWatch.Gateway.dll");

    private readonly TemporaryFolder _folder = new();

    public void Dispose() => _folder.Dispose();

    [Fact]
    public async Task Files_of_the_program_are_its_users_alone()
    {
        SkipWithoutModes();
        await RunAsync(AssertAllPrivate);
    }

    [Fact]
    public async Task Open_folder_of_an_earlier_build_is_tightened_with_the_gateways_files_in_it()
    {
        SkipWithoutModes();
        Directory.CreateDirectory(_folder["data"]);
        foreach (var name in new[] { "server-settings.json", "enrolment.json", "simulated-outbox.db.damaged-20260101" })
        {
            await File.WriteAllTextAsync(_folder[$"data/{name}"], "{}", TestContext.Current.CancellationToken);
            File.SetUnixFileMode(_folder[$"data/{name}"], (UnixFileMode)0b110_100_100);
        }

        // What a link leads to is somebody else's, and stays as it is.
        await File.WriteAllTextAsync(_folder["elsewhere"], "", TestContext.Current.CancellationToken);
        File.SetUnixFileMode(_folder["elsewhere"], (UnixFileMode)0b110_100_100);
        File.CreateSymbolicLink(_folder["data/password"], _folder["elsewhere"]);
        File.SetUnixFileMode(_folder["data"], (UnixFileMode)0b111_101_101);

        await RunAsync(AssertAllPrivate);

        Assert.Equal((UnixFileMode)0b110_100_100, File.GetUnixFileMode(_folder["elsewhere"]));
    }

    [Fact]
    public void Folder_of_everybody_stays_as_it_is_and_the_gateways_files_in_it_are_tightened()
    {
        SkipWithoutModes();
        const UnixFileMode Shared = (UnixFileMode)0b111_111_111 | UnixFileMode.StickyBit;
        Directory.CreateDirectory(_folder["shared"]);
        foreach (var name in new[] { "outbox.db", "of-somebody-else" })
        {
            File.WriteAllText(_folder[$"shared/{name}"], "");
            File.SetUnixFileMode(_folder[$"shared/{name}"], (UnixFileMode)0b110_100_100);
        }

        File.SetUnixFileMode(_folder["shared"], Shared);

        Assert.Null(GatewayFileRights.Tighten(_folder["shared/outbox.db"]));

        Assert.Equal(Shared, File.GetUnixFileMode(_folder["shared"]));
        Assert.Equal((UnixFileMode)0b110_000_000, File.GetUnixFileMode(_folder["shared/outbox.db"]));
        Assert.Equal((UnixFileMode)0b110_100_100, File.GetUnixFileMode(_folder["shared/of-somebody-else"]));
    }

    private static void SkipWithoutModes() => Assert.SkipWhen(OperatingSystem.IsWindows(), "Windows has no modes of files");

    private void AssertAllPrivate()
    {
        foreach (var entry in Directory.GetFileSystemEntries(_folder["data"], "*", SearchOption.AllDirectories).Append(_folder["data"]))
        {
            try
            {
                Assert.True(
                    File.GetAttributes(entry).HasFlag(FileAttributes.ReparsePoint) || (File.GetUnixFileMode(entry) & Others) == 0,
                    $"{entry} is open to others");
            }
            catch (FileNotFoundException)
            {
                // A journal that the program has done with.
            }
        }
    }

    /// <summary>Runs the program until its outbox is there, then looks.</summary>
    private async Task RunAsync(Action look)
    {
        var command = $"umask 022; exec dotnet '{Program}' run --simulate --data '{_folder["data"]}'";
        using var gateway = Process.Start(new ProcessStartInfo("sh", ["-c", command]) { RedirectStandardOutput = true, RedirectStandardError = true })!;
        gateway.BeginOutputReadLine();
        gateway.BeginErrorReadLine();
        try
        {
            await Patience.UntilAsync(
                () => File.Exists(_folder["data/simulated-outbox.db"]),
                () => "no outbox",
                () => Assert.False(gateway.HasExited, "the gateway ended before it wrote its outbox"));

            look();
        }
        finally
        {
            gateway.Kill(entireProcessTree: true);
            await gateway.WaitForExitAsync(CancellationToken.None);
        }
    }
}
