using System.CommandLine;
using PavementWatch.Gateway.Buses;
using PavementWatch.Gateway.Enrolment;
using PavementWatch.Gateway.Sensors.Mlx90614;
using PavementWatch.Gateway.Settings;
using PavementWatch.Gateway.Simulation;
using PavementWatch.Gateway.Sizing;

namespace PavementWatch.Gateway.Commands;

/// <summary>The gateway's verbs. Exit codes: 0 done, 1 failed, 2 bad usage or bad settings.</summary>
internal static class CommandLine
{
    public const int Failed = 1;
    public const int BadUsage = 2;

    public static async Task<int> RunAsync(string[] args, TextWriter? output = null, TextWriter? error = null)
    {
        var parsed = Root().Parse(args);
        // Time to say goodbye to the broker after Ctrl-C.
        parsed.InvocationConfiguration.ProcessTerminationTimeout = TimeSpan.FromSeconds(10);
        parsed.InvocationConfiguration.EnableDefaultExceptionHandler = false;
        parsed.InvocationConfiguration.Output = output ?? Console.Out;
        parsed.InvocationConfiguration.Error = error ?? Console.Error;
        try
        {
            var code = await parsed.InvokeAsync();
            return parsed.Errors.Count > 0 ? BadUsage : code;
        }
        catch (Exception failure) when (SettingsFaults.Of(failure) is { } fault)
        {
            await parsed.InvocationConfiguration.Error.WriteLineAsync(fault);
            return BadUsage;
        }
    }

    /// <summary>Every verb.</summary>
    public static RootCommand Root()
    {
        var settings = new SettingsArguments();
        var root = new RootCommand("PavementWatch gateway: reads probes, keeps readings, sends them to the server.");
        root.Options.Add(settings.Simulate);
        root.Options.Add(settings.File);
        root.Options.Add(settings.Data);
        SettingsArguments.AddOverridesTo(root);
        root.SetAction(async (parsed, cancellationToken) =>
        {
            return await NoteEnrolmentCommands.UntilRedeemedAsync(settings, parsed, BootFile.Places, cancellationToken)
                ? await RunCommand.RunAsync(settings.Of(parsed), cancellationToken)
                : 0;
        });
        root.Subcommands.Add(RunCommand.Create(settings, BootFile.Places));
        root.Subcommands.Add(CheckCommand.Create(settings));
        root.Subcommands.Add(ReadCommand.Create(settings));
        root.Subcommands.Add(EnrolCommand.Create(settings, BootFile.Places));
        root.Subcommands.Add(Mlx90614Command.Create(parsed => parsed.GetValue(settings.Simulate) ? SimulatedBuses.OfOneMlx90614() : new HardwareBuses()));
        foreach (var verb in SizingCommands.Create(parsed => CalibrationProbes.Open(settings.Of(parsed)), Console.In))
            root.Subcommands.Add(verb);
        return root;
    }
}
