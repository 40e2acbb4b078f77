using System.CommandLine;
using Microsoft.Extensions.Hosting.Systemd;
using PavementWatch.Gateway.Watchdog;

namespace PavementWatch.Gateway.Commands;

/// <summary><c>run</c>: what happens without a verb.</summary>
internal static class RunCommand
{
    public static Command Create(SettingsArguments settings)
    {
        var command = new Command("run", "Sample, keep and send readings until Ctrl-C (the default).");
        SettingsArguments.AddOverridesTo(command);
        command.SetAction((parsed, cancellationToken) => RunAsync(settings.Of(parsed), cancellationToken));
        return command;
    }

    public static async Task<int> RunAsync(GivenSettings settings, CancellationToken cancellationToken)
    {
        using var host = SystemdHelpers.IsSystemdService()
            ? settings.Build(logging => logging.AddSystemdConsole(), services => services.AddSystemd().AddHostedService<SystemdWatchdog>())
            : settings.Build(logging => logging.AddSimpleConsole(console => console.SingleLine = true));
        await host.RunAsync(cancellationToken);
        return 0;
    }
}
