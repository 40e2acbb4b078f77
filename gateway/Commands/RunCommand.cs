using System.CommandLine;
using Microsoft.Extensions.Hosting.Systemd;
using PavementWatch.Gateway.Clock;
using PavementWatch.Gateway.Hosting;
using PavementWatch.Gateway.Simulation;

namespace PavementWatch.Gateway.Commands;

/// <summary><c>run</c>: what happens without a verb.</summary>
internal static class RunCommand
{
    /// <param name="settings">What every verb takes.</param>
    /// <param name="places">Where a note for the enrolment is looked for.</param>
    public static Command Create(SettingsArguments settings, IReadOnlyList<string> places)
    {
        var command = new Command("run", "Sample, keep and send readings until Ctrl-C (the default).");
        var speed = new Option<double?>("--speed") { Description = $"with --simulate: how much faster than life, 1 to {AcceleratedTimeProvider.MaxSpeed}", HelpName = "times" };
        var from = new Option<DateTimeOffset?>("--from") { Description = "with --simulate: the moment it begins, e.g. 2026-07-10T06:00:00Z; now unless given", HelpName = "time" };
        var since = new Option<DateTimeOffset?>("--since") { Description = "with --from: the moment of this machine's clock at which it is that; now unless given", HelpName = "time" };
        command.Options.Add(speed);
        var mishaps = new Option<bool>("--mishaps") { Description = $"with --simulate: let things go wrong as standard input tells, one a line: {Mishaps.Forms}" };
        command.Options.Add(from);
        command.Options.Add(since);
        command.Options.Add(mishaps);
        SettingsArguments.AddOverridesTo(command);
        command.Validators.Add(result =>
        {
            if (result.GetValue(speed) is { } times && times is not (>= 1 and <= AcceleratedTimeProvider.MaxSpeed))
                result.AddError($"--speed must be 1 to {AcceleratedTimeProvider.MaxSpeed}, e.g. --speed 600");
            if ((result.GetValue(speed) is not null || result.GetValue(from) is not null || result.GetValue(since) is not null || result.GetValue(mishaps)) && !result.GetValue(settings.Simulate))
                result.AddError("--speed, --from, --since and --mishaps go with --simulate; real probes live in real time");
        });
        command.SetAction(async (parsed, cancellationToken) =>
        {
            if (!await NoteEnrolmentCommands.UntilRedeemedAsync(settings, parsed, places, cancellationToken))
                return 0;
            var given = settings.Of(parsed);
            if (parsed.GetValue(speed) is not null || parsed.GetValue(from) is not null)
            {
                var time = AcceleratedTimeProvider.Running(
                    parsed.GetValue(from) ?? TimeProvider.System.GetUtcNow(), parsed.GetValue(speed) ?? 1, parsed.GetValue(from) is null ? null : parsed.GetValue(since));
                given = given with { Time = time };
            }
            if (!parsed.GetValue(mishaps))
                return await RunAsync(given, cancellationToken);
            var clock = new SettableClock(given.Time);
            return await RunAsync(
                given with { Time = clock, WorldTime = given.Time },
                cancellationToken,
                services => services.AddSingleton(clock).AddSingleton(Console.In).AddHostedService<Mishaps>());
        });
        return command;
    }

    public static async Task<int> RunAsync(GivenSettings settings, CancellationToken cancellationToken, Action<IServiceCollection>? services = null)
    {
        using var host = SystemdHelpers.IsSystemdService()
            ? settings.Build(logging => logging.AddSystemdConsole(), also => also.AddSystemd().AddHostedService<SystemdWatchdog>())
            : settings.Build(logging => logging.AddSimpleConsole(console => console.SingleLine = true), services);
        await host.RunAsync(cancellationToken);
        return 0;
    }
}
