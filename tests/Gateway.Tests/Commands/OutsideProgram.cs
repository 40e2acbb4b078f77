using System.Diagnostics;

namespace PavementWatch.Gateway.Tests.Commands;

/// <summary>A program of this machine, run to its end.</summary>
internal static class OutsideProgram
{
    /// <returns>How it ended, and what it printed: errors first.</returns>
    public static async Task<(int Code, string Text)> RunAsync(string program, string[] arguments, params (string Name, string Value)[] environment)
    {
        var start = new ProcessStartInfo(program, arguments) { RedirectStandardOutput = true, RedirectStandardError = true };
        foreach (var (name, value) in environment)
            start.Environment[name] = value;
        using var process = Process.Start(start)!;
        var error = process.StandardError.ReadToEndAsync(TestContext.Current.CancellationToken);
        var output = await process.StandardOutput.ReadToEndAsync(TestContext.Current.CancellationToken);
        await process.WaitForExitAsync(TestContext.Current.CancellationToken);
        return (process.ExitCode, await error + output);
    }
}
