using System.Globalization;
using PavementWatch.Gateway.Tests.Commands;

namespace PavementWatch.Gateway.Tests.Hardware;

/// <summary><c>hardware/install</c> below a root of its own, with a program of two lines: killed wherever it is, a whole program is left.</summary>
public sealed class InstallTests : IDisposable
{
    private const string Unit = "etc/systemd/system/pavementwatch-gateway.service";

    /// <summary>What the installer changes files with; each is a step it can be killed before.</summary>
    private static readonly string[] Steps = ["cp", "mv", "ln", "rm", "install", "sync"];

    private readonly TemporaryFolder _folder = new();

    public InstallTests()
    {
        Assert.SkipUnless(OperatingSystem.IsLinux() && File.Exists("/bin/bash"), "the installer is for Linux");
        foreach (var build in new[] { "a", "b" })
            MakeBuild(build);
        Directory.CreateDirectory(_folder["stubs"]);
        foreach (var step in Steps)
        {
            WriteProgram(
                _folder[$"stubs/{step}"],
                $"echo \"{step} $*\" >>'{_folder["calls"]}'\nn=$(($(cat '{_folder["count"]}') + 1)); echo $n >'{_folder["count"]}'\n[ $n -ne \"$KILL_AT\" ] || {{ kill -9 $PPID; exit 1; }}\nPATH=/usr/bin:/bin exec {step} \"$@\"");
        }
    }

    public void Dispose() => _folder.Dispose();

    [Theory]
    [InlineData("a build in a folder of its own")]
    [InlineData("a program of before builds had folders")]
    public async Task Update_killed_at_any_step_leaves_a_whole_program_and_can_be_run_again(string over)
    {
        for (var step = 1; ; step++)
        {
            Directory.CreateDirectory(_folder[$"root{step}"]);
            await PrepareAsync($"root{step}", over);
            Assert.Equal("a is whole", await RunInstalledAsync($"root{step}"));

            var isKilled = await IsKilledAsync(step, "b", $"root{step}", []);

            Assert.Contains(await RunInstalledAsync($"root{step}"), new[] { "a is whole", "b is whole" });
            await InstallAsync("b", $"root{step}");
            Assert.Equal("b is whole", await RunInstalledAsync($"root{step}"));
            Assert.Empty(Directory.GetFileSystemEntries(_folder[$"root{step}"], "*.new", SearchOption.AllDirectories));
            Directory.Delete(_folder[$"root{step}"], recursive: true);
            if (!isKilled)
            {
                // As many steps as it has were tried.
                Assert.InRange(step, 15, 200);
                return;
            }
        }
    }

    [Fact]
    public async Task Roll_back_goes_to_the_build_before_and_forth_again_and_is_whole_at_each_step()
    {
        await InstallAsync("a", "root");
        var (code, text) = await BashAsync([_folder["root/opt/pavementwatch-builds/current/install"], "--roll-back"], "root");
        Assert.Equal(1, code);
        Assert.Contains("there is no build before", text, StringComparison.Ordinal);
        await InstallAsync("b", "root");

        for (var step = 1; await IsKilledAsync(step, null, "root", ["--roll-back"]); step++)
        {
            Assert.Contains(await RunInstalledAsync("root"), new[] { "a is whole", "b is whole" });
            await InstallAsync("a", "root");
            await InstallAsync("b", "root");
        }

        Assert.Equal("a is whole", await RunInstalledAsync("root"));
        (code, text) = await BashAsync([_folder["root/opt/pavementwatch-builds/current/install"], "--roll-back"], "root");
        Assert.True(code == 0, text);
        Assert.Equal("b is whole", await RunInstalledAsync("root"));
        // No more than the two are kept.
        Assert.Equal(["1.0-a", "1.0-b"], Directory.GetDirectories(_folder["root/opt/pavementwatch-builds"], "1.*").Select(Path.GetFileName).Order());
    }

    [Theory]
    [InlineData("a build in a folder of its own")]
    [InlineData("a program of before builds had folders")]
    public async Task Nothing_is_put_in_its_place_before_it_is_on_the_disk(string over)
    {
        Directory.CreateDirectory(_folder["root"]);
        await PrepareAsync("root", over);
        await IsKilledAsync(0, "b", "root", []);
        var installed = await CallsAsync();
        await IsKilledAsync(0, null, "root", ["--roll-back"]);
        var rolledBack = await CallsAsync();

        Assert.True(installed.Count(call => call[0] == "mv") >= 5, string.Join('\n', installed.Select(call => string.Join(' ', call))));
        foreach (var calls in new[] { installed, rolledBack })
        {
            for (var i = 0; i < calls.Count; i++)
            {
                if (calls[i] is not ["mv", "-T", var from, _])
                    continue;
                // A link holds no more than its name; what it leads to was written with all that came before.
                var written = calls.FindLastIndex(i, i + 1, call => call[0] is "cp" || (call[0] == "install" && call[^1] == from));
                var synced = calls.FindLastIndex(i, i + 1, call => call[0] == "sync" && (call.Length == 1 || call[1] == from));
                Assert.True(written < 0 || synced > written, $"'{string.Join(' ', calls[i])}' comes before its files are on the disk");
            }

            // And the switch itself is, before anything old goes.
            var switched = calls.FindLastIndex(call => call is ["mv", "-T", _, var to] && to.EndsWith("/current", StringComparison.Ordinal));
            Assert.Equal("sync", calls[switched + 1][0]);
            Assert.DoesNotContain(calls.Skip(calls.FindLastIndex(call => call[0] == "sync")), call => call[0] == "mv");
        }
    }

    [Fact]
    public async Task Earlier_program_is_kept_as_the_build_before_and_the_old_folder_goes()
    {
        await PrepareAsync("root", "a program of before builds had folders");

        await InstallAsync("b", "root");
        Assert.False(Directory.Exists(_folder["root/opt/pavementwatch"]));
        Assert.True(File.Exists(_folder["root/etc/systemd/system/pavementwatch-enrol.service"]));
        var (code, text) = await BashAsync([_folder["root/opt/pavementwatch-builds/current/install"], "--roll-back"], "root");

        Assert.True(code == 0, text);
        Assert.Equal("a is whole", await RunInstalledAsync("root"));

        (code, text) = await BashAsync([_folder["b/install"], "--remove"], "root");
        Assert.True(code == 0, text);
        Assert.False(Directory.Exists(_folder["root/opt/pavementwatch-builds"]));
        Assert.False(File.Exists(_folder[$"root/{Unit}"]));
    }

    private void MakeBuild(string build)
    {
        Directory.CreateDirectory(_folder[build]);
        foreach (var file in new[] { "install", "gateway", "pavementwatch-gateway.service", "pavementwatch-enrol.service" })
            File.Copy(Path.Combine(HardwarePage.Folder, file), Path.Combine(_folder[build], file));
        File.WriteAllText(_folder[$"{build}/VERSION"], $"1.0-{build}\n");
        MakeProgram(_folder[build], build);
    }

    private static void MakeProgram(string folder, string build)
    {
        WriteProgram(Path.Combine(folder, "PavementWatch.Gateway"), $"[ \"$(cat \"$(dirname \"$0\")/libe_sqlite3.so\")\" = 'library of {build}' ] && echo '{build} is whole'");
        File.WriteAllText(Path.Combine(folder, "libe_sqlite3.so"), $"library of {build}");
    }

    private static void WriteProgram(string path, string lines)
    {
        File.WriteAllText(path, $"#!/bin/sh\n{lines}\n");
        if (!OperatingSystem.IsWindows())
            File.SetUnixFileMode(path, UnixFileMode.UserRead | UnixFileMode.UserWrite | UnixFileMode.UserExecute);
    }

    private async Task PrepareAsync(string root, string over)
    {
        if (over == "a build in a folder of its own")
        {
            await InstallAsync("a", root);
            return;
        }

        Directory.CreateDirectory(_folder[$"{root}/opt/pavementwatch"]);
        Directory.CreateDirectory(Path.GetDirectoryName(_folder[$"{root}/{Unit}"])!);
        MakeProgram(_folder[$"{root}/opt/pavementwatch"], "a");
        await File.WriteAllTextAsync(_folder[$"{root}/{Unit}"], "[Service]\nExecStart=/opt/pavementwatch/PavementWatch.Gateway run\n");
    }

    /// <summary>Starts what the unit starts, as systemd would after the power came back.</summary>
    private async Task<string> RunInstalledAsync(string root)
    {
        var start = (await File.ReadAllLinesAsync(_folder[$"{root}/{Unit}"])).Single(line => line.StartsWith("ExecStart=", StringComparison.Ordinal));
        var (code, text) = await OutsideProgram.RunAsync(_folder[root] + start["ExecStart=".Length..].Split(' ')[0], []);
        return code == 0 ? text.Trim() : $"{start} ended with {code}: {text}";
    }

    private async Task InstallAsync(string build, string root)
    {
        var (code, text) = await BashAsync([_folder[$"{build}/install"]], root);
        Assert.True(code == 0, text);
    }

    /// <summary>What the installer called, since it was asked last.</summary>
    private async Task<List<string[]>> CallsAsync()
    {
        var calls = await File.ReadAllLinesAsync(_folder["calls"]);
        File.Delete(_folder["calls"]);
        return [.. calls.Select(call => call.Split(' ', StringSplitOptions.RemoveEmptyEntries))];
    }

    /// <summary>Runs the installer with the kill before one of its steps.</summary>
    /// <returns>Whether it came to that step.</returns>
    private async Task<bool> IsKilledAsync(int step, string? build, string root, string[] arguments)
    {
        await File.WriteAllTextAsync(_folder["count"], "0\n");
        var script = build is null ? _folder[$"{root}/opt/pavementwatch-builds/current/install"] : _folder[$"{build}/install"];
        var (code, text) = await BashAsync(
            [script, .. arguments], root, ("PATH", $"{_folder["stubs"]}:/usr/sbin:/usr/bin:/bin"), ("KILL_AT", step.ToString(CultureInfo.InvariantCulture)));
        Assert.True(code is 0 or 137, $"step {step}: {code}: {text}");
        return code != 0;
    }

    private Task<(int Code, string Text)> BashAsync(string[] arguments, string root, params (string Name, string Value)[] environment) =>
        OutsideProgram.RunAsync("/bin/bash", arguments, [.. environment, ("PAVEMENTWATCH_ROOT", _folder[root])]);
}
