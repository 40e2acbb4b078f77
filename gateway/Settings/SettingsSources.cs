using System.Reflection;

namespace PavementWatch.Gateway.Settings;

/// <summary>Where the gateway's settings come from; later ones win: file, enrolment, environment, command line.</summary>
internal static class SettingsSources
{
    /// <summary>The file <c>enrol</c> writes into the data folder.</summary>
    public const string EnrolmentFile = "enrolment.json";

    /// <summary>Settings in the environment begin so: <c>PAVEMENTWATCH_Publishing__BrokerHost</c>.</summary>
    public const string EnvironmentPrefix = "PAVEMENTWATCH_";

    private const string InstalledSettings = "/etc/pavementwatch/gateway.json";
    private const string InstalledData = "/var/lib/pavementwatch";

    /// <summary>Every section there is. A section of another name is misspelt.</summary>
    private static readonly string[] Sections = ["Gateway", "Publishing", "Outbox", "Sampling", "Spots", "Probes", "Clock", "ClockChip", "Panel", "Logging"];

    /// <summary>Where outbox, enrolment and the server's settings lie: what systemd says, or the installed folder, or one below the present.</summary>
    public static string DataFolder() =>
        Environment.GetEnvironmentVariable("STATE_DIRECTORY") is { Length: > 0 } given ? given
        : Directory.Exists(InstalledData) ? InstalledData
        : Path.GetFullPath("gateway-data");

    /// <summary>Puts the settings together.</summary>
    /// <param name="file">The settings file; <c>null</c> takes the installed one, where there is one.</param>
    /// <param name="simulate">Whether to take the built-in settings of the simulation in place of file and enrolment.</param>
    /// <param name="overrides"><c>--Section:Key=value</c> of the command line.</param>
    /// <param name="dataFolder">See <see cref="DataFolder"/>.</param>
    /// <exception cref="SettingsException">A file is missing or unreadable, or a section is misspelt.</exception>
    public static IConfigurationRoot Load(string? file, bool simulate, IReadOnlyList<string> overrides, string dataFolder)
    {
        var written = new ConfigurationBuilder();
        if (simulate)
            written.AddJsonStream(Assembly.GetExecutingAssembly().GetManifestResourceStream("gateway.simulated.json")!);
        if (file is not null && !File.Exists(file))
            throw new SettingsException($"there is no settings file '{file}'; hardware/settings has samples");
        if (file is not null || (!simulate && File.Exists(InstalledSettings)))
            written.AddJsonFile(Path.GetFullPath(file ?? InstalledSettings));
        if (!simulate && Path.Combine(Path.GetFullPath(dataFolder), EnrolmentFile) is var enrolment && File.Exists(enrolment))
            written.AddJsonFile(enrolment);
        written.AddCommandLine([.. overrides]);
        IConfigurationRoot known;
        try
        {
            known = written.Build();
        }
        catch (Exception error) when (error is InvalidDataException or FormatException or IOException or UnauthorizedAccessException)
        {
            throw new SettingsException($"{error.Message} {error.InnerException?.Message}".Trim(), error);
        }
        foreach (var section in known.GetChildren().Select(section => section.Key).Where(key => !Sections.Contains(key, StringComparer.OrdinalIgnoreCase)))
            throw new SettingsException($"there is no section '{section}' in the settings, expected one of {string.Join(", ", Sections)}; mend its name");
        return new ConfigurationBuilder()
            .AddInMemoryCollection(new Dictionary<string, string?> { ["Outbox:Path"] = Path.Combine(dataFolder, simulate ? "simulated-outbox.db" : "outbox.db") })
            .AddConfiguration(known)
            .AddEnvironmentVariables(EnvironmentPrefix)
            .AddCommandLine([.. overrides])
            .Build();
    }
}

/// <summary>The settings cannot be used; the message names the key and the remedy.</summary>
internal sealed class SettingsException(string message, Exception? inner = null) : Exception(message, inner);
