using System.CommandLine;
using PavementWatch.Gateway.Checks;

namespace PavementWatch.Gateway.Commands;

/// <summary><c>check</c>: tries every probe and the way to the server, and says what to do.</summary>
internal static class CheckCommand
{
    public static Command Create(SettingsArguments settings)
    {
        var command = new Command("check", "Try every probe, the disk, the clock and the way to the server; say what to do where something fails.");
        SettingsArguments.AddOverridesTo(command);
        command.SetAction((parsed, cancellationToken) => RunAsync(settings.Of(parsed), parsed.InvocationConfiguration.Output, cancellationToken));
        return command;
    }

    private static async Task<int> RunAsync(GivenSettings settings, TextWriter output, CancellationToken cancellationToken)
    {
        using var host = settings.Build(_ => { });
        var failed = 0;
        var hasServer = !settings.Simulate || settings.Overrides.Any(setting => setting.StartsWith("--Publishing:BrokerHost=", StringComparison.OrdinalIgnoreCase));
        foreach (var check in host.Services.GetServices<ICheck>())
        {
            IReadOnlyList<Finding> findings = check is ServerCheck && !hasServer
                ? [new Finding(Verdict.NotTried, "server", "not tried in a simulation; give --Publishing:BrokerHost=HOST to try one")]
                : await check.RunAsync(cancellationToken);
            foreach (var finding in findings)
                await output.WriteLineAsync(finding.ToString());
            failed += findings.Count(finding => finding.Verdict == Verdict.Failed);
        }
        await output.WriteLineAsync(failed == 0 ? "all is well" : $"{failed} failed");
        return failed == 0 ? 0 : CommandLine.Failed;
    }
}
