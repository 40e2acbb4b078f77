using System.Diagnostics;
using PavementWatch.Server.Database;

namespace PavementWatch.Server.Tests.Database;

/// <summary>What the server writes is its own user's alone, told by the modes of real files of a real process.</summary>
[System.Runtime.Versioning.UnsupportedOSPlatform("windows")]
public sealed class PrivateFilesTests : IDisposable
{
    private const UnixFileMode Others = (UnixFileMode)0b111_111;

    private static readonly string Program = Path.Combine(AppContext.BaseDirectory, "PavementWatch.Server.dll");

    private readonly string _folder = Directory.CreateTempSubdirectory("pw-private-").FullName;

    private string Data => Path.Combine(_folder, "data");

    public void Dispose() => Directory.Delete(_folder, recursive: true);

    [Fact]
    public async Task New_files_of_the_program_are_its_users_alone()
    {
        SkipWithoutModes();

        // A library makes the files; nothing but the mask of the process reaches it.
        var (exit, said) = await RunAsync("sh", "-c", $"umask 022; exec dotnet '{Program}' user add Ines --role walker '--Data:Folder={Data}'");

        Assert.True(exit == 0, said);
        Assert.DoesNotContain("warn:", said, StringComparison.Ordinal);
        Assert.True(File.Exists(Path.Combine(Data, "registry.sqlite")));
        AssertAllPrivate();
    }

    [Fact]
    public async Task Open_folder_of_an_earlier_build_is_tightened_with_all_that_is_in_it()
    {
        SkipWithoutModes();
        var (exit, said) = await RunAsync("dotnet", Program, "user", "add", "Ines", "--role", "walker", $"--Data:Folder={Data}");
        Assert.True(exit == 0, said);
        var kept = Directory.CreateDirectory(Path.Combine(Data, "keys", "older")).FullName;
        await File.WriteAllTextAsync(Path.Combine(kept, "key.xml"), "<key/>", TestContext.Current.CancellationToken);
        var (opened, _) = await RunAsync("chmod", "-R", "a+rX", Data);
        Assert.Equal(0, opened);
        // What a link leads to is somebody else's, and stays as it is.
        var elsewhere = Path.Combine(_folder, "elsewhere");
        await File.WriteAllTextAsync(elsewhere, "", TestContext.Current.CancellationToken);
        File.SetUnixFileMode(elsewhere, (UnixFileMode)0b110_100_100);
        File.CreateSymbolicLink(Path.Combine(Data, "link"), elsewhere);

        (exit, said) = await RunAsync("dotnet", Program, "check-settings", $"--Data:Folder={Data}");

        Assert.True(exit == 0, said);
        AssertAllPrivate();
        Assert.Equal((UnixFileMode)0b110_100_100, File.GetUnixFileMode(elsewhere));
    }

    [Fact]
    public async Task Open_folder_of_somebody_else_is_refused_with_its_remedy()
    {
        SkipWithoutModes();
        Assert.SkipUnless(Environment.UserName == "root" && File.Exists("/usr/bin/setpriv"), "only root can give a folder away (setpriv of util-linux)");
        Directory.CreateDirectory(Data);
        File.SetUnixFileMode(Data, (UnixFileMode)0b111_101_101);
        var (given, _) = await RunAsync("chown", "65534", Data);
        Assert.Equal(0, given);

        // Root without the right to change others' modes stands for a user of its own.
        var (exit, said) = await RunAsync("setpriv", "--bounding-set=-fowner", "--inh-caps=-fowner", "dotnet", Program, "check-settings", $"--Data:Folder={Data}");

        Assert.Equal(1, exit);
        Assert.Contains("belongs to somebody else", said, StringComparison.Ordinal);
        Assert.Contains("chown -R", said, StringComparison.Ordinal);
    }

    [Fact]
    public void Everybodys_folder_is_refused_and_left_as_it_is()
    {
        SkipWithoutModes();
        Directory.CreateDirectory(Data);
        const UnixFileMode Shared = (UnixFileMode)0b111_111_111 | UnixFileMode.StickyBit;
        File.SetUnixFileMode(Data, Shared);

        var refused = Assert.Throws<IOException>(() => PrivateFiles.Own(Data));

        Assert.Contains("name a folder below it", refused.Message, StringComparison.Ordinal);
        Assert.Equal(Shared, File.GetUnixFileMode(Data));
    }

    private static void SkipWithoutModes() => Assert.SkipWhen(OperatingSystem.IsWindows(), "Windows has no modes of files");

    private void AssertAllPrivate()
    {
        var entries = Directory.GetFileSystemEntries(Data, "*", SearchOption.AllDirectories)
            .Where(entry => !File.GetAttributes(entry).HasFlag(FileAttributes.ReparsePoint)).Append(Data);
        Assert.All(entries, entry => Assert.True((File.GetUnixFileMode(entry) & Others) == 0, $"{entry} is open to others"));
    }

    private static async Task<(int Exit, string Said)> RunAsync(string program, params string[] arguments)
    {
        using var process = Process.Start(new ProcessStartInfo(program, arguments) { RedirectStandardOutput = true, RedirectStandardError = true })!;
        var (output, error) = (process.StandardOutput.ReadToEndAsync(), process.StandardError.ReadToEndAsync());
        await process.WaitForExitAsync(TestContext.Current.CancellationToken);
        return (process.ExitCode, await output + await error);
    }
}
