using System.CommandLine;
using PavementWatch.Gateway.Checks;
using PavementWatch.Gateway.Sensors;

namespace PavementWatch.Gateway.Commands;

/// <summary><c>read</c>: one sample of every probe.</summary>
internal static class ReadCommand
{
    public static Command Create(SettingsArguments settings)
    {
        var command = new Command("read", "Print one sample of every probe; before enrolment too.");
        SettingsArguments.AddOverridesTo(command);
        command.SetAction((parsed, _) => Task.FromResult(Run(settings.Of(parsed), parsed.InvocationConfiguration.Output)));
        return command;
    }

    private static int Run(GivenSettings settings, TextWriter output)
    {
        using var host = settings.BuildProbes();
        var samples = host.Services.GetRequiredService<IProbes>().SampleAll(host.Services.GetRequiredService<TimeProvider>().GetUtcNow());
        foreach (var sample in samples)
        {
            output.WriteLine(sample.Outcome switch
            {
                ReadOutcome.Measured(var values) => $"{sample.Probe} ({sample.Kind}, {sample.Spot?.Value ?? "all spots"}): {ProbeCheck.Text(values)}",
                ReadOutcome.Rejected(var reason, var detail) => $"{sample.Probe} ({sample.Kind}, {sample.Spot?.Value ?? "all spots"}): nothing, {reason}: {detail}",
                _ => $"{sample.Probe}: nothing",
            });
        }
        if (samples.Count == 0)
            output.WriteLine("the settings name no probes; add them under Probes");
        if (settings.NotSet() is { } missing)
            output.WriteLine($"Not set yet, and needed before the gateway can run:{Environment.NewLine}{missing}");
        return samples.Count > 0 && samples.All(sample => sample.Outcome is ReadOutcome.Measured) ? 0 : CommandLine.Failed;
    }
}
