using System.Collections.Concurrent;
using System.Diagnostics;
using System.Text.RegularExpressions;
using PavementWatch.Tests;

namespace PavementWatch.Server.Tests.Processes;

/// <summary>The server's program in a process of its own, as an operator starts it, to be killed without a word.</summary>
internal sealed partial class ServerProcess : IAsyncDisposable
{
    private static readonly TimeSpan Patience = TimeSpan.FromSeconds(90);

    private readonly Process _process;
    private readonly ConcurrentQueue<string> _said = new();

    private ServerProcess(Process process)
    {
        _process = process;
        process.OutputDataReceived += (_, line) => _said.Enqueue(line.Data ?? "");
        process.ErrorDataReceived += (_, line) => _said.Enqueue(line.Data ?? "");
        process.BeginOutputReadLine();
        process.BeginErrorReadLine();
    }

    /// <summary>Everything it printed so far.</summary>
    public string Said => string.Join('\n', _said);

    public int Id => _process.Id;

    public bool HasExited => _process.HasExited;

    /// <summary>Address of the pages, once it is ready.</summary>
    public Uri Address { get; private set; } = new("http://127.0.0.1");

    /// <summary>Port for gateways, once it is ready.</summary>
    public int BrokerPort { get; private set; }

    /// <summary>Runs a command, on free ports unless the arguments name others.</summary>
    /// <param name="arguments">As typed.</param>
    public static ServerProcess Start(params string[] arguments)
    {
        var start = new ProcessStartInfo("dotnet", [Program(), .. arguments])
        {
            RedirectStandardOutput = true,
            RedirectStandardError = true,
        };
        return new ServerProcess(Process.Start(start)!);
    }

    /// <summary>Serves a data folder.</summary>
    /// <param name="data">The folder.</param>
    /// <param name="settings">As typed; they win.</param>
    public static ServerProcess Serve(string data, params string[] settings) =>
        Start(["serve", $"--Data:Folder={data}", "--Urls=http://127.0.0.1:0", "--Broker:Port=0", .. settings]);

    /// <summary>Serves a data folder and returns when pages and broker can be reached.</summary>
    public static async Task<ServerProcess> ServeReadyAsync(string data, params string[] settings)
    {
        var server = Serve(data, settings);
        try
        {
            await server.ReadyAsync();
            return server;
        }
        catch
        {
            await server.DisposeAsync();
            throw;
        }
    }

    public async Task ReadyAsync()
    {
        await SaidAsync("Application started");
        Address = new Uri(Pages().Match(Said).Groups[1].Value);
        BrokerPort = int.Parse(Broker().Match(Said).Groups[1].Value, System.Globalization.CultureInfo.InvariantCulture);
    }

    /// <summary>Waits until it has printed something.</summary>
    public async Task SaidAsync(string text)
    {
        for (var began = Stopwatch.StartNew(); !Said.Contains(text, StringComparison.Ordinal);)
        {
            Assert.True(began.Elapsed < Patience && !_process.HasExited, $"the server did not say '{text}', but:\n{Said}");
            await Task.Delay(TimeSpan.FromMilliseconds(20), TimeProvider.System, TestContext.Current.CancellationToken);
        }
    }

    /// <summary>Waits until it ends by itself.</summary>
    public async Task<int> ExitAsync()
    {
        using var patience = CancellationTokenSource.CreateLinkedTokenSource(TestContext.Current.CancellationToken);
        patience.CancelAfter(Patience);
        try
        {
            await _process.WaitForExitAsync(patience.Token);
        }
        catch (OperationCanceledException)
        {
            Assert.Fail($"the server did not end, but said:\n{Said}");
        }

        return _process.ExitCode;
    }

    /// <summary>kill -9; returns when it is gone and everything it printed was taken.</summary>
    public async Task KillAsync()
    {
        if (!_process.HasExited)
            _process.Kill();
        await _process.WaitForExitAsync(CancellationToken.None);
    }

    public async ValueTask DisposeAsync()
    {
        await KillAsync();
        _process.Dispose();
    }

    private static string Program()
    {
        var tests = new DirectoryInfo(AppContext.BaseDirectory);
        return Path.Combine(SharedData.RepositoryRoot, "server", "bin", tests.Parent!.Name, tests.Name, "PavementWatch.Server.dll");
    }

    [GeneratedRegex("Now listening on: (http\\S+)")]
    private static partial Regex Pages();

    [GeneratedRegex("broker listens on 127\\.0\\.0\\.1:([0-9]+)")]
    private static partial Regex Broker();
}
