using System.Diagnostics;
using PavementWatch.Tests;

namespace PavementWatch.EndToEnd.Tests.Soak;

/// <summary>One of our programs in a process of its own, to be killed without a word.</summary>
internal sealed class SoakProcess : IAsyncDisposable
{
    private readonly Process _process;
    private bool _isGone;

    private SoakProcess(Process process) => _process = process;

    /// <summary>Starts a program from where it was built, as the tests were.</summary>
    /// <param name="project">Its folder, <c>gateway</c> or <c>server</c>.</param>
    /// <param name="program">Its file.</param>
    /// <param name="arguments">As typed.</param>
    /// <param name="line">Takes each line it prints; what comes on the error stream begins with <c>fail:</c>.</param>
    public static SoakProcess Start(string project, string program, IEnumerable<string> arguments, Action<string> line)
    {
        // Beside the tests lies the web server's share of the libraries, which the gateway does without.
        var tests = new DirectoryInfo(AppContext.BaseDirectory);
        var path = Path.Combine(SharedData.RepositoryRoot, project, "bin", tests.Parent!.Name, tests.Name, program);
        var start = new ProcessStartInfo("dotnet", [path, .. arguments])
        {
            RedirectStandardInput = true,
            RedirectStandardOutput = true,
            RedirectStandardError = true,
        };
        var process = Process.Start(start)!;
        process.OutputDataReceived += (_, data) => line(data.Data ?? "");
        process.ErrorDataReceived += (_, data) => line(data.Data is { Length: > 0 } text ? "fail: " + text : "");
        process.BeginOutputReadLine();
        process.BeginErrorReadLine();
        return new SoakProcess(process);
    }

    public bool HasExited => _process.HasExited;

    /// <summary>Types a line.</summary>
    public void Type(string line)
    {
        try
        {
            _process.StandardInput.WriteLine(line);
            _process.StandardInput.Flush();
        }
        catch (IOException)
        {
            // It is gone; whoever looks at its exit will say so.
        }
    }

    /// <summary>kill -9, and everything it printed has been taken.</summary>
    public async Task KillAsync()
    {
        if (_isGone)
            return;
        _process.Kill();
        await _process.WaitForExitAsync();
        _isGone = true;
    }

    public async ValueTask DisposeAsync()
    {
        await KillAsync();
        _process.Dispose();
    }
}
