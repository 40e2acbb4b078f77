using System.CommandLine;
using System.Globalization;
using PavementWatch.Gateway.Clock;
using PavementWatch.Server.Commands;
using PavementWatch.Server.Hosting;

namespace PavementWatch.Server.Demo;

/// <summary>The hidden verb <c>rehearse</c>: serves by a clock of its own, which is faster than life and may be set. For trials with simulated gateways that live as fast.</summary>
internal static class RehearseCommand
{
    public static void AddTo(RootCommand root)
    {
        var speed = new Option<double>("--speed") { Description = $"How much faster than life, 1 to {AcceleratedTimeProvider.MaxSpeed}.", DefaultValueFactory = _ => 1 };
        var from = new Option<DateTimeOffset?>("--from") { Description = "The moment it begins; now unless given." };
        var since = new Option<DateTimeOffset?>("--since") { Description = "The moment of this machine's clock at which it is that; now unless given." };
        var rehearse = new Command("rehearse", "Serve by a clock of its own; a line 'clock -00:20:00' on standard input sets it back, 'clock 00:20:00' forward.")
        {
            speed, from, since,
        };
        rehearse.Hidden = true;
        rehearse.Validators.Add(result =>
        {
            if (result.GetValue(speed) is not (>= 1 and <= AcceleratedTimeProvider.MaxSpeed))
                result.AddError($"--speed must be 1 to {AcceleratedTimeProvider.MaxSpeed}, e.g. --speed 300");
        });
        Settings.AddTo(rehearse);
        rehearse.SetAction(async (parsed, cancellationToken) =>
        {
            using var runs = AcceleratedTimeProvider.Running(
                parsed.GetValue(from) ?? TimeProvider.System.GetUtcNow(), parsed.GetValue(speed), parsed.GetValue(from) is null ? null : parsed.GetValue(since));
            var clock = new SettableClock(runs);
            await using var app = ServerApp.Build(new ServerAppOptions { Args = Settings.Of(parsed), Time = clock });
            // A console is read by waiting for it; the server does not wait with us.
            _ = Task.Run(() => Listen(Console.In, clock, parsed.InvocationConfiguration.Error), CancellationToken.None);
            await app.RunAsync(cancellationToken);
            return CommandLine.Done;
        });
        root.Subcommands.Add(rehearse);
    }

    private static void Listen(TextReader told, SettableClock clock, TextWriter error)
    {
        while (told.ReadLine() is { } line)
        {
            if (line.Split(' ') is ["clock", var span] && TimeSpan.TryParse(span, CultureInfo.InvariantCulture, out var by) && by.Duration() <= TimeSpan.FromDays(3650))
                clock.Step(by);
            else
                error.WriteLine($"'{line}' is no order, expected 'clock 00:20:00' or 'clock -00:20:00'");
        }
    }
}
