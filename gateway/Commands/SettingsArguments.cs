using System.CommandLine;
using System.Text.RegularExpressions;
using PavementWatch.Gateway.Hosting;
using PavementWatch.Gateway.Settings;
using PavementWatch.Gateway.Simulation;

namespace PavementWatch.Gateway.Commands;

/// <summary>What every verb that needs settings takes: <c>--simulate</c>, <c>--settings FILE</c>, <c>--Section:Key=value</c>.</summary>
internal sealed partial class SettingsArguments
{
    private const string OverridesName = "setting";

    public Option<bool> Simulate { get; } = new("--simulate") { Description = "simulated probes and world in place of the machine's buses", Recursive = true };

    public Option<string?> File { get; } = new("--settings") { Description = "the settings file; /etc/pavementwatch/gateway.json unless given", HelpName = "file", Recursive = true };

    public Option<string?> Data { get; } = new("--data") { Description = "folder of outbox and credentials; /var/lib/pavementwatch where it exists, else gateway-data", HelpName = "folder", Recursive = true };

    /// <summary>Where the gateway keeps its files.</summary>
    public string DataFolder(ParseResult parsed) => parsed.GetValue(Data) is { } given ? Path.GetFullPath(given) : SettingsSources.DataFolder();

    public static void AddOverridesTo(Command command)
    {
        var overrides = new Argument<string[]>(OverridesName)
        {
            Description = "--Section:Key=value, over what the file says",
            Arity = ArgumentArity.ZeroOrMore,
        };
        overrides.Validators.Add(result =>
        {
            foreach (var token in result.Tokens.Where(token => !Form().IsMatch(token.Value)))
                result.AddError($"'{token.Value}' is neither a verb nor a setting; expected a verb below or --Section:Key=value");
        });
        command.Arguments.Add(overrides);
    }

    public GivenSettings Of(ParseResult parsed)
    {
        var simulate = parsed.GetValue(Simulate);
        var overrides = parsed.CommandResult.Command.Arguments.Any(argument => argument.Name == OverridesName) ? parsed.GetValue<string[]>(OverridesName) ?? [] : [];
        var data = DataFolder(parsed);
        return new GivenSettings(SettingsSources.Load(parsed.GetValue(File), simulate, overrides, data), simulate, overrides, data);
    }

    [GeneratedRegex("^--[A-Za-z][A-Za-z0-9]*(:[A-Za-z0-9.-]+)+=.*$")]
    private static partial Regex Form();
}

/// <summary>Settings as a verb has them.</summary>
/// <param name="Configuration">The settings.</param>
/// <param name="Simulate">Whether probes and world are simulated.</param>
/// <param name="Overrides">What the command line set.</param>
/// <param name="DataFolder">Where the gateway keeps its files.</param>
internal sealed record GivenSettings(IConfiguration Configuration, bool Simulate, IReadOnlyList<string> Overrides, string DataFolder)
{
    /// <summary>The clock; physical time unless a simulated day runs faster.</summary>
    public TimeProvider Time { get; init; } = TimeProvider.System;

    /// <summary>The clock of the simulated world, where another than <see cref="Time"/>.</summary>
    public TimeProvider? WorldTime { get; init; }

    /// <summary>The gateway's parts, not started, with every setting looked at.</summary>
    /// <exception cref="Microsoft.Extensions.Options.OptionsValidationException">A setting is out of range.</exception>
    public IHost Build(Action<ILoggingBuilder> logging, Action<IServiceCollection>? services = null) => Build(probesOnly: false, logging, services);

    /// <summary>The probes alone, with their settings looked at: for somebody at the bench, before enrolment too.</summary>
    /// <exception cref="Microsoft.Extensions.Options.OptionsValidationException">A setting of theirs is out of range.</exception>
    public IHost BuildProbes() => Build(probesOnly: true, _ => { }, null);

    /// <summary>What keeps the gateway from running as it is set now, one thing a line; <c>null</c> when nothing does.</summary>
    public string? NotSet()
    {
        try
        {
            using var host = Build(_ => { });
            return null;
        }
        catch (Exception error) when (SettingsFaults.Of(error) is { } faults)
        {
            return faults;
        }
    }

    private IHost Build(bool probesOnly, Action<ILoggingBuilder> logging, Action<IServiceCollection>? services)
    {
        var host = GatewayHost.Build(new GatewayHostOptions
        {
            Settings = Configuration,
            Time = Time,
            World = Simulate ? SimulatedDay.At : null,
            WorldTime = WorldTime,
            ProbesOnly = probesOnly,
            Logging = logging,
            Services = services ?? (_ => { }),
        });
        try
        {
            host.Services.GetRequiredService<Microsoft.Extensions.Options.IStartupValidator>().Validate();
            return host;
        }
        catch
        {
            host.Dispose();
            throw;
        }
    }
}
