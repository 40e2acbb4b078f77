using System.CommandLine;
using PavementWatch.Server.Access;
using PavementWatch.Server.Hosting;
using PavementWatch.Server.People;

namespace PavementWatch.Server.Commands;

/// <summary>Runs the server; what happens without a verb.</summary>
internal static partial class ServeCommand
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
        await app.StartAsync(cancellationToken);
        var milliseconds = (long)Age().TotalMilliseconds;
        Listening(app.Logger, milliseconds);
        if (await app.Services.GetRequiredService<SetUpLink>().TokenAsync(cancellationToken) is { } token)
        {
            // Printed, not logged: it lets the first who opens it in.
            var output = parsed.InvocationConfiguration.Output;
            await output.WriteLineAsync("Nobody of the business is here yet. Whoever opens this link first sets it up; it works once, while this server runs:");
            await output.WriteLineAsync($"{app.Services.GetRequiredService<PublicAddress>().Text}/set-up/{token}");
        }

        await app.WaitForShutdownAsync(cancellationToken);
        return 0;
    }

    /// <summary>How long this process lives.</summary>
    private static TimeSpan Age()
    {
        using var self = System.Diagnostics.Process.GetCurrentProcess();
        return TimeProvider.System.GetUtcNow() - new DateTimeOffset(self.StartTime);
    }

    [LoggerMessage(Level = LogLevel.Information, Message = "start: ports bound {Milliseconds} ms after the process began")]
    private static partial void Listening(ILogger logger, long milliseconds);
}
