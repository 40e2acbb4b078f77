using System.Diagnostics;
using System.Net;
using System.Net.Sockets;
using PavementWatch.Tests;

namespace PavementWatch.Server.Tests.Store;

/// <summary>A server installed on this machine, run for one test on a free port, and ended with it.</summary>
internal sealed class ChildProcess : IAsyncDisposable
{
    private readonly Process _process;

    private ChildProcess(Process process) => _process = process;

    /// <summary>The program's path; skips the test, naming the package, where it is not installed.</summary>
    public static string Require(string package, params string[] paths)
    {
        var path = Array.Find(paths, File.Exists);
        Assert.SkipWhen(path is null, $"not installed: {package} (Debian package {package}; bash tests/run installs it)");
        return path;
    }

    public static int FreePort()
    {
        using var listener = new TcpListener(IPAddress.Loopback, 0);
        listener.Start();
        return ((IPEndPoint)listener.LocalEndpoint).Port;
    }

    /// <summary>Starts the program and returns when its port answers; throws with what it printed when it ends before.</summary>
    public static async Task<ChildProcess> StartAsync(
        string program, IEnumerable<string> arguments, int port, CancellationToken cancellationToken)
    {
        var start = new ProcessStartInfo(program, arguments) { RedirectStandardError = true, RedirectStandardOutput = true };
        var process = Process.Start(start)!;
        var printed = new System.Collections.Concurrent.ConcurrentQueue<string>();
        process.ErrorDataReceived += (_, line) => printed.Enqueue(line.Data ?? "");
        process.OutputDataReceived += (_, line) => printed.Enqueue(line.Data ?? "");
        process.BeginErrorReadLine();
        process.BeginOutputReadLine();
        var child = new ChildProcess(process);
        using var patience = Patience.Token();
        while (true)
        {
            using var client = new TcpClient();
            try
            {
                await client.ConnectAsync(IPAddress.Loopback, port, patience.Token);
                return child;
            }
            catch (Exception failure) when (failure is SocketException or OperationCanceledException)
            {
                if (process.HasExited || patience.IsCancellationRequested)
                {
                    await child.DisposeAsync();
                    throw new InvalidOperationException($"{program} did not open port {port}: {string.Join('\n', printed)}", failure);
                }

                await Task.Delay(TimeSpan.FromMilliseconds(20), TimeProvider.System, cancellationToken);
            }
        }
    }

    public async ValueTask DisposeAsync()
    {
        if (!_process.HasExited)
            _process.Kill(entireProcessTree: true);
        await _process.WaitForExitAsync();
        _process.Dispose();
    }
}
