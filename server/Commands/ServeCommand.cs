using System.CommandLine;

namespace PavementWatch.Server.Commands;

/// <summary>Runs the server; what happens without a verb.</summary>
internal static class ServeCommand
{
    public static void AddTo(RootCommand root)
    {
        var serve = new Command("serve", "Run the server until Ctrl-C (the default).");
        Settings.AddTo(serve);
        Settings.AddTo(root, hidden: true);
        serve.SetAction(RunAsync);
        root.SetAction(RunAsync);
        root.Subcommands.Add(serve);
    }

    private static async Task<int> RunAsync(ParseResult parsed, CancellationToken cancellationToken)
    {
        await using var app = ServerApp.Build(new ServerAppOptions { Args = Settings.Of(parsed) });
        await app.RunAsync(cancellationToken);
        return 0;
    }
}
