using System.CommandLine;
using PavementWatch.Server.Demo;

namespace PavementWatch.Server.Commands;

/// <summary>The verbs of the server. Exit codes: 0 done, 1 failed, 2 bad usage.</summary>
internal static class CommandLine
{
    /// <summary>Failed.</summary>
    public const int Failed = 1;

    /// <summary>Bad usage.</summary>
    public const int BadUsage = 2;

    public static async Task<int> RunAsync(string[] args)
    {
        var parsed = Root().Parse(args);
        var code = await parsed.InvokeAsync();
        return parsed.Errors.Count > 0 ? BadUsage : code;
    }

    private static RootCommand Root()
    {
        var root = new RootCommand("PavementWatch server: broker, readings, fits, alerts and pages of a dog-walking business.");
        ServeCommand.AddTo(root);
        DemoCommand.AddTo(root);
        ReplayCommand.AddTo(root);
        return root;
    }
}
