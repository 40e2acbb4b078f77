using System.Diagnostics;
using System.Net.Sockets;
using System.Text;
using System.Threading.Channels;
using PavementWatch.Gateway.Tests.Outbox;
using PavementWatch.Gateway.Tests.Publishing;
using PavementWatch.Tests;

namespace PavementWatch.Gateway.Tests.Commands;

/// <summary>The gateway's program as a service: what it tells systemd, how it ends, what the installer puts where.</summary>
public sealed class ServiceTests : IDisposable
{
    private static readonly string Program = Path.Combine(AppContext.BaseDirectory, "PavementWatch.Gateway.dll");

    private readonly TemporaryFolder _folder = new();

    public void Dispose() => _folder.Dispose();

    [Fact]
    public async Task Systemd_hears_ready_alive_and_stopping_and_the_broker_hears_goodbye()
    {
        Assert.SkipUnless(OperatingSystem.IsLinux(), "systemd is a Linux matter");
        await using var broker = await TestBroker.StartAsync();
        using var systemd = new Socket(AddressFamily.Unix, SocketType.Dgram, ProtocolType.Unspecified);
        systemd.Bind(new UnixDomainSocketEndPoint(_folder["notify"]));
        var heard = ListenAsync(systemd);

        // The hosting library knows systemd by its parent's name: a shell of that name stands in for it.
        File.Copy("/bin/sh", _folder["systemd"]);
        using var parent = new StartedProcess(
            _folder["systemd"],
            ["-c", $"dotnet '{Program}' run --simulate --data '{_folder["data"]}' --Publishing:BrokerHost=127.0.0.1 --Publishing:BrokerPort={broker.Port} --Sampling:Period=00:00:01 & echo $! >'{_folder["pid"]}'; wait $!"],
            ("NOTIFY_SOCKET", _folder["notify"]), ("WATCHDOG_USEC", "2000000"));
        await broker.UntilAsync(all => all.Arrivals.Count >= 1);
        await heard.Saw("READY=1");
        await heard.Saw("WATCHDOG=1");
        Process.Start("kill", ["-TERM", (await File.ReadAllTextAsync(_folder["pid"], TestContext.Current.CancellationToken)).Trim()]).WaitForExit();

        Assert.Equal(0, await parent.ExitAsync());
        await heard.Saw("STOPPING=1");
        Assert.Equal("{\"state\":\"offline\"}", await broker.RetainedAsync("pavement/v1/simulated/status"));
    }

    [Fact]
    public async Task Killed_gateway_leaves_its_will_and_its_readings()
    {
        await using var broker = await TestBroker.StartAsync();
        using var gateway = new StartedProcess("dotnet", [Program, "run", "--simulate", "--data", _folder["data"], "--Publishing:BrokerHost=127.0.0.1", $"--Publishing:BrokerPort={broker.Port}"]);
        await broker.UntilAsync(all => all.Arrivals.Count >= 1);

        gateway.Kill();
        await gateway.ExitAsync();

        await Patience.UntilAsync(
            async () => await broker.RetainedAsync("pavement/v1/simulated/status") == "{\"state\":\"offline\"}", () => "the will did not come");
        using var outbox = Some.Open(_folder["data/simulated-outbox.db"]);
        Assert.Null(outbox.State().Fault);
    }

    [Fact]
    public async Task Build_for_the_Pi_checks_a_simulated_gateway_and_installs()
    {
        const string Emulator = "/usr/bin/qemu-aarch64-static";
        const string Library = "/usr/aarch64-linux-gnu";
        Assert.SkipUnless(File.Exists(Emulator), $"Debian's package qemu-user-static is not installed ({Emulator})");
        Assert.SkipUnless(File.Exists($"{Library}/lib/ld-linux-aarch64.so.1"), "Debian's package libc6-arm64-cross is not installed");
        var built = _folder["linux-arm64"];
        var (buildCode, buildText) = await OutsideProgram.RunAsync("bash", [Path.Combine(SharedData.RepositoryRoot, "hardware", "build"), "linux-arm64", built]);
        Assert.True(buildCode == 0, buildText);

        var (code, text) = await OutsideProgram.RunAsync(Emulator, ["-L", Library, Path.Combine(built, "PavementWatch.Gateway"), "check", "--simulate", "--data", _folder["data"]]);

        Assert.True(code == 0, text);
        Assert.EndsWith("all is well\n", text, StringComparison.Ordinal);

        // Below a root of its own, twice: the second time over the first.
        foreach (var round in new[] { 1, 2 })
        {
            var (installCode, installText) = await OutsideProgram.RunAsync("bash", [Path.Combine(built, "install")], ("PAVEMENTWATCH_ROOT", _folder["root"]));
            Assert.True(installCode == 0, $"round {round}: {installText}");
        }
        foreach (var file in new[] { "opt/pavementwatch-builds/current/PavementWatch.Gateway", "opt/pavementwatch-builds/current/libe_sqlite3.so", "etc/systemd/system/pavementwatch-gateway.service", "usr/local/bin/gateway" })
            Assert.True(File.Exists(_folder[$"root/{file}"]), file);
        // Its name is the version: the second round found the same build there.
        Assert.Matches("^0[.]1[.]0-[0-9T]+-[0-9a-z]+$", Path.GetFileName(Assert.Single(Directory.GetDirectories(_folder["root/opt/pavementwatch-builds"], "0.*"))));
    }

    [Theory]
    [InlineData("pavementwatch-gateway.service")]
    [InlineData("pavementwatch-enrol.service")]
    public async Task Unit_is_in_order(string name)
    {
        const string Analyze = "/usr/bin/systemd-analyze";
        Assert.SkipUnless(File.Exists(Analyze), $"systemd-analyze is not installed ({Analyze})");
        // The program itself is not installed here; everything else is looked at.
        var unit = await File.ReadAllTextAsync(Path.Combine(SharedData.RepositoryRoot, "hardware", name), TestContext.Current.CancellationToken);
        await File.WriteAllTextAsync(
            _folder[name],
            unit.Replace("/opt/pavementwatch-builds/current/PavementWatch.Gateway", "/bin/true", StringComparison.Ordinal),
            TestContext.Current.CancellationToken);

        var (code, text) = await OutsideProgram.RunAsync(Analyze, ["verify", "--man=no", _folder[name]]);

        Assert.True(code == 0 && !text.Contains($"{name}:", StringComparison.Ordinal), text);
    }

    private static Heard ListenAsync(Socket socket)
    {
        var heard = new Heard();
        _ = Task.Run(async () =>
        {
            var buffer = new byte[1024];
            try
            {
                while (true)
                    heard.Add(Encoding.UTF8.GetString(buffer, 0, await socket.ReceiveAsync(buffer)));
            }
            catch (Exception error) when (error is SocketException or ObjectDisposedException)
            {
                // The test is over.
            }
        });
        return heard;
    }

    /// <summary>A process that does not outlive its test.</summary>
    private sealed class StartedProcess : IDisposable
    {
        private readonly Process _process;

        public StartedProcess(string program, string[] arguments, params (string Name, string Value)[] environment)
        {
            var start = new ProcessStartInfo(program, arguments) { RedirectStandardOutput = true, RedirectStandardError = true };
            foreach (var (name, value) in environment)
                start.Environment[name] = value;
            _process = Process.Start(start)!;
            // Read to the end, so that it never waits for a full pipe.
            _process.BeginOutputReadLine();
            _process.BeginErrorReadLine();
        }

        public void Kill() => _process.Kill(entireProcessTree: true);

        public async Task<int> ExitAsync()
        {
            await _process.WaitForExitAsync(TestContext.Current.CancellationToken);
            return _process.ExitCode;
        }

        public void Dispose()
        {
            if (!_process.HasExited)
                Kill();
            _process.Dispose();
        }
    }

    private sealed class Heard
    {
        private readonly Channel<string> _messages = Channel.CreateUnbounded<string>();
        private readonly List<string> _seen = [];

        public void Add(string message) => _messages.Writer.TryWrite(message);

        public async Task Saw(string message)
        {
            using var patience = Patience.Token();
            while (!_seen.Any(seen => seen.Contains(message, StringComparison.Ordinal)))
            {
                try
                {
                    _seen.Add(await _messages.Reader.ReadAsync(patience.Token));
                }
                catch (OperationCanceledException)
                {
                    Assert.Fail($"systemd never heard {message}, but: {string.Join(", ", _seen)}");
                }
            }
        }
    }
}
