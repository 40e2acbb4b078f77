using System.CommandLine;
using Microsoft.Extensions.Hosting.Systemd;
using PavementWatch.Gateway.Buses;
using PavementWatch.Gateway.Enrolment;
using PavementWatch.Gateway.Gpio;
using PavementWatch.Gateway.Settings;
using PavementWatch.Gateway.Simulation;

namespace PavementWatch.Gateway.Commands;

/// <summary>The two that wait for an enrolment by a note: <c>enrol --wait</c>, which redeems it, and <c>run</c>, which begins once it is redeemed.</summary>
internal static class NoteEnrolmentCommands
{
    private static readonly TimeSpan LookAgain = TimeSpan.FromSeconds(2);

    // Far under the minutes systemd waits for a sign of life.
    private static readonly TimeSpan AliveEvery = TimeSpan.FromSeconds(30);

    /// <summary><c>enrol --wait</c>: redeems the note, however long that takes, and says on the lamp what it waits for.</summary>
    public static async Task<int> RedeemAsync(SettingsArguments settings, ParseResult parsed, IReadOnlyList<string> places, CancellationToken cancellationToken)
    {
        using IBuses buses = parsed.GetValue(settings.Simulate) ? new SimulatedBuses() : new HardwareBuses();
        return await RedeemAsync(settings, parsed, places, buses, TimeProvider.System, cancellationToken);
    }

    /// <summary>The same with the pins of the lamp, and the clock of flashes and pauses.</summary>
    internal static async Task<int> RedeemAsync(
        SettingsArguments settings, ParseResult parsed, IReadOnlyList<string> places, IBuses buses, TimeProvider time, CancellationToken cancellationToken)
    {
        var output = parsed.InvocationConfiguration.Output;
        var enrolment = new NoteEnrolment(places, settings.DataFolder(parsed), output.WriteLine, time);
        using var done = CancellationTokenSource.CreateLinkedTokenSource(cancellationToken);
        var lamp = new WaitingLamp(buses, PanelOf(settings, parsed, output), time).RunAsync(() => (int)enrolment.WaitsFor, done.Token);
        try
        {
            await enrolment.RunAsync(cancellationToken);
            return 0;
        }
        catch (OperationCanceledException) when (cancellationToken.IsCancellationRequested)
        {
            return 0;
        }
        finally
        {
            await done.CancelAsync();
            await lamp;
        }
    }

    /// <summary>Before <c>run</c>: waits while there is a note that has not been redeemed and nothing else says which gateway this is.</summary>
    /// <returns>Whether to run: not when it was told to end meanwhile.</returns>
    public static async Task<bool> UntilRedeemedAsync(SettingsArguments settings, ParseResult parsed, IReadOnlyList<string> places, CancellationToken cancellationToken)
    {
        if (!Waits())
            return true;
        await parsed.InvocationConfiguration.Output.WriteLineAsync(
            $"not enrolled yet; waits for the note {places.First(File.Exists)} to be redeemed, which pavementwatch-enrol does: journalctl -u pavementwatch-enrol");
        var systemd = new SystemdNotifier();
        systemd.Notify(ServiceState.Ready);
        for (var waited = TimeSpan.Zero; Waits(); waited += LookAgain)
        {
            if (waited.Ticks % AliveEvery.Ticks == 0)
                systemd.Notify(new ServiceState("WATCHDOG=1"));
            await Task.Delay(LookAgain, TimeProvider.System, cancellationToken).ContinueWith(_ => { }, TaskScheduler.Default);
            if (cancellationToken.IsCancellationRequested)
                return false;
        }

        return true;

        bool Waits() =>
            !parsed.GetValue(settings.Simulate)
            && !File.Exists(Path.Combine(settings.DataFolder(parsed), SettingsSources.EnrolmentFile))
            && places.Any(File.Exists)
            && settings.Of(parsed).Configuration["Gateway:Id"] is not { Length: > 0 };
    }

    private static PanelOptions PanelOf(SettingsArguments settings, ParseResult parsed, TextWriter output)
    {
        try
        {
            return settings.Of(parsed).Configuration.GetSection("Panel").Get<PanelOptions>() ?? new PanelOptions();
        }
        catch (Exception error) when (SettingsFaults.Of(error) is { } fault)
        {
            output.WriteLine($"no lamp: {fault}");
            return new PanelOptions();
        }
    }
}
