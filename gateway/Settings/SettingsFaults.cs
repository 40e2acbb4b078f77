using System.Text.RegularExpressions;
using Microsoft.Extensions.Options;
using PavementWatch.Gateway.Sensors;
using PavementWatch.Gateway.Spots;

namespace PavementWatch.Gateway.Settings;

/// <summary>Turns what the options system says of bad settings into sentences for whoever wrote them.</summary>
internal static partial class SettingsFaults
{
    /// <summary>The faults, one a line; <c>null</c> when the error is not about settings.</summary>
    public static string? Of(Exception error) => error switch
    {
        SettingsException => error.Message,
        AggregateException many when many.InnerExceptions.All(inner => Of(inner) is not null) =>
            // One section's fault comes again from every section that is judged against it.
            string.Join(Environment.NewLine, many.InnerExceptions.SelectMany(inner => Of(inner)!.Split(Environment.NewLine)).Distinct()),
        OptionsValidationException invalid => string.Join(Environment.NewLine, invalid.Failures.Select(fault => Placed(fault, invalid.OptionsType))),
        InvalidOperationException unknown when Unknown().Match(unknown.Message) is { Success: true } found => Misspelt(found),
        InvalidOperationException unfit when Unfit().Match(unfit.Message) is { Success: true } found =>
            $"{found.Groups["key"].Value} is '{found.Groups["value"].Value}', expected {Expected(found.Groups["type"].Value)}",
        // In a table of probes or spots the binder wraps what it says of one of them.
        InvalidOperationException { InnerException: { } inner } => Of(inner),
        _ => null,
    };

    /// <summary>The fault with its section before it, as it stands in the file.</summary>
    private static string Placed(string fault, Type options)
    {
        var section = SectionOf(options.Name);
        var plain = fault.Replace($"The field {options.Name}.", "", StringComparison.Ordinal).Replace($"The {options.Name}.", "", StringComparison.Ordinal);
        return !options.Name.EndsWith("Options", StringComparison.Ordinal) || plain.StartsWith(section + ":", StringComparison.Ordinal) ? plain : $"{section}:{plain}";
    }

    private static string SectionOf(string type) => type switch
    {
        nameof(ProbeOptions) => "Probes",
        nameof(SpotOptions) => "Spots",
        _ when type.EndsWith("Options", StringComparison.Ordinal) => type[..^"Options".Length],
        _ => type,
    };

    private static string Misspelt(Match found)
    {
        var type = typeof(SettingsFaults).Assembly.GetTypes().FirstOrDefault(type => type.FullName == found.Groups["type"].Value || type.Name == found.Groups["type"].Value);
        var known = type?.GetProperties().Where(property => property.SetMethod is not null).Select(property => property.Name) ?? [];
        return $"{SectionOf(type?.Name ?? found.Groups["type"].Value)}: there is no setting {found.Groups["names"].Value}, expected one of {string.Join(", ", known)}; mend its name";
    }

    private static string Expected(string type) => type switch
    {
        "System.TimeSpan" => "a time span such as 00:01:30",
        "System.Boolean" => "true or false",
        "System.Int32" => "a whole number",
        "System.Double" => "a number",
        _ when typeof(SettingsFaults).Assembly.GetType(type) is { IsEnum: true } words => $"one of {string.Join(", ", Enum.GetNames(words).Where(word => word != nameof(ProbeKind.None)))}",
        _ => type,
    };

    [GeneratedRegex("were not found on the instance of (?<type>[^:]+): (?<names>.+)$")]
    private static partial Regex Unknown();

    [GeneratedRegex("Failed to convert configuration value '(?<value>.*)' at '(?<key>[^']+)' to type '(?<type>[^']+)'")]
    private static partial Regex Unfit();
}
