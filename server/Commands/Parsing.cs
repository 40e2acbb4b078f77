using System.CommandLine;
using System.CommandLine.Parsing;
using System.Globalization;
using PavementWatch.Core.Quantities;
using PavementWatch.Core.Readings;
using PavementWatch.Core.Surfaces;

namespace PavementWatch.Server.Commands;

/// <summary>Options that several verbs have, with errors that say what was found and what was expected.</summary>
internal static class Parsing
{
    public static Option<SurfaceKind> Surface() => new("--surface")
    {
        Description = $"What the ground is made of: {string.Join(", ", SurfaceKinds.All.Select(SurfaceKinds.Slug))}.",
        HelpName = "KIND",
        Required = true,
        CustomParser = result =>
        {
            if (SurfaceKinds.TryParse(Text(result), out var kind))
                return kind;
            result.AddError($"--surface is '{Text(result)}', expected one of {string.Join(", ", SurfaceKinds.All.Select(SurfaceKinds.Slug))}");
            return default;
        },
    };

    /// <summary>A gateway's name.</summary>
    public static Argument<GatewayId> Gateway() => new("ID")
    {
        Description = "The gateway's name: a-z, 0-9 and '-', e.g. north-gate.",
        CustomParser = result =>
        {
            if (!GatewayId.TryParse(Text(result), out var gateway))
                result.AddError($"gateway: '{Text(result)}' is not a name, expected 1 to {SpotId.MaxLength} of a-z, 0-9 and '-'");
            return gateway;
        },
    };

    /// <summary>Names of spots, joined by commas; <c>null</c> when not given.</summary>
    public static Option<IReadOnlyList<SpotId>?> Spots(string description, bool required = false) => new("--spots")
    {
        Description = description,
        HelpName = "ID[,ID]",
        Required = required,
        CustomParser = result =>
        {
            List<SpotId> spots = [];
            foreach (var name in Text(result).Split(',', StringSplitOptions.TrimEntries | StringSplitOptions.RemoveEmptyEntries))
            {
                if (SpotId.TryParse(name, out var spot))
                    spots.Add(spot);
                else
                    result.AddError($"--spots: '{name}' is not a spot's name, expected 1 to {SpotId.MaxLength} of a-z, 0-9 and '-'");
            }

            return spots;
        },
    };

    public static Option<double> Degrees(string name, string description, QuantityRange range) => new(name)
    {
        Description = $"{description}; {range}.",
        HelpName = "DEGREES",
        Required = true,
        CustomParser = result => Number(result, name, range) ?? double.NaN,
    };

    public static Option<double?> Number(string name, string description, string unit, QuantityRange range) => new(name)
    {
        Description = $"{description}. {range}.",
        HelpName = unit,
        CustomParser = result => Number(result, name, range),
    };

    public static Option<DateOnly?> Day(string name, string description) => new(name)
    {
        Description = description,
        HelpName = "yyyy-MM-dd",
        CustomParser = result =>
        {
            if (DateOnly.TryParseExact(Text(result), "yyyy-MM-dd", CultureInfo.InvariantCulture, DateTimeStyles.None, out var day))
                return day;
            result.AddError($"{name} is '{Text(result)}', expected a day like 2026-07-14");
            return null;
        },
    };

    public static Option<TimeZoneInfo?> Zone(string description) => new("--time-zone")
    {
        Description = description,
        HelpName = "ZONE",
        CustomParser = result =>
        {
            if (TimeZoneInfo.TryFindSystemTimeZoneById(Text(result), out var found))
                return found;
            result.AddError($"--time-zone is '{Text(result)}', expected an IANA name like America/Chicago");
            return null;
        },
    };

    public static string Text(ArgumentResult result) => result.Tokens.Count == 1 ? result.Tokens[0].Value : "";

    /// <exception cref="IOException">The file is not there or may not be read; the message says what to do.</exception>
    public static StreamReader OpenText(string file)
    {
        try
        {
            return File.OpenText(file);
        }
        catch (Exception e) when (e is FileNotFoundException or DirectoryNotFoundException)
        {
            throw new IOException($"there is no file {Path.GetFullPath(file)}; check the name and the folder you stand in", e);
        }
    }

    private static double? Number(ArgumentResult result, string name, QuantityRange range)
    {
        if (double.TryParse(Text(result), NumberStyles.Float, CultureInfo.InvariantCulture, out var value)
            && range.Holds(value))
            return value;
        result.AddError($"{name} is '{Text(result)}', expected a number from {range}");
        return null;
    }
}
