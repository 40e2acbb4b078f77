using System.Diagnostics;
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
        Assert.SkipWhen(OperatingSystem.IsWindows(), "Windows has no modes of files");
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

            var entries = Directory.GetFileSystemEntries(_folder["data"], "*", SearchOption.AllDirectories).Append(_folder["data"]);
            Assert.All(entries, entry => Assert.True((File.GetUnixFileMode(entry) & Others) == 0, $"{entry} is open to others"));
        }
        finally
        {
            gateway.Kill(entireProcessTree: true);
            await gateway.WaitForExitAsync(CancellationToken.None);
        }
    }
}
