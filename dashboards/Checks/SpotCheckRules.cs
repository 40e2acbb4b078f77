using System.Globalization;
using PavementWatch.Core.Quantities;
using PavementWatch.Core.Team;
using PavementWatch.Dashboards.Texts;

namespace PavementWatch.Dashboards.Checks;

/// <summary>What a spot check may hold, whether entered on a phone or read from a file.</summary>
public static class SpotCheckRules
{
    /// <summary>Longest name of a thermometer, in characters.</summary>
    public const int LongestThermometer = 80;

    /// <summary>Longest note, in characters.</summary>
    public const int LongestNote = 500;

    /// <summary>How far a check may lie ahead of the server's clock.</summary>
    public static readonly TimeSpan MostAhead = TimeSpan.FromMinutes(5);

    private static readonly DateTimeOffset Earliest = new(2000, 1, 1, 0, 0, 0, TimeSpan.Zero);

    /// <summary>Looks at every field.</summary>
    /// <param name="check">The check.</param>
    /// <param name="now">The server's clock, UTC.</param>
    /// <param name="unit">Who reads what is wrong wants this.</param>
    /// <param name="timeZoneId">By whose clock its time was given; UTC unless given.</param>
    /// <returns>The first field at fault; <c>null</c> when all is well.</returns>
    public static CheckFault? Fault(SpotCheck check, DateTimeOffset now, TemperatureUnit unit, string timeZoneId = "Etc/UTC")
    {
        ArgumentNullException.ThrowIfNull(check);
        return check switch
        {
            _ when !QuantityRanges.Surface.Holds(check.ShownCelsius) => new(
                CheckField.Temperature, Temperatures.InSentence(check.ShownCelsius, unit), Temperatures.Range(QuantityRanges.Surface, unit), "look at the number and its unit"),
            _ when check.At > now + MostAhead => new(
                CheckField.Time, MomentTexts.InFull(check.At, timeZoneId), $"not later than now, {MomentTexts.InFull(now, timeZoneId)}",
                "look at the day and the time zone"),
            _ when check.At < Earliest => new(CheckField.Time, MomentTexts.IsoDate(MomentTexts.Date(check.At, timeZoneId)), "the year 2000 or later", "look at the day"),
            _ when !QuantityRanges.ThermometerEmissivity.HoldsOrNull(check.EmissivityFraction) => new(
                CheckField.Emissivity, Say($"{check.EmissivityFraction}"), $"{QuantityRanges.ThermometerEmissivity}, or empty for a thermometer that touches the ground", "most are set to 0.95"),
            _ => Text(CheckField.Thermometer, check.Thermometer, LongestThermometer) ?? Text(CheckField.Note, check.Note, LongestNote),
        };
    }

    private static CheckFault? Text(CheckField field, string text, int longest)
    {
        if (text.Length > longest)
            return new(field, Say($"{text.Length} characters"), Say($"at most {longest}"), "shorten it");
        // A spreadsheet would run such a cell of the export as a formula.
        if (text.Length > 0 && "=+-@".Contains(text[0], StringComparison.Ordinal))
            return new(field, $"'{text}'", "a first character other than = + - @", "begin with a letter");
        return text.Any(char.IsControl) ? new(field, "a line break or another control character", "one line", "remove it") : null;
    }

    private static string Say(FormattableString text) => text.ToString(CultureInfo.InvariantCulture);
}

/// <summary>Fields of a check.</summary>
public enum CheckField
{
    /// <summary>Where.</summary>
    Spot = 0,

    /// <summary>When.</summary>
    Time,

    /// <summary>What was shown.</summary>
    Temperature,

    /// <summary>The thermometer.</summary>
    Thermometer,

    /// <summary>Its emissivity setting.</summary>
    Emissivity,

    /// <summary>Sun, shade or wet.</summary>
    Ground,

    /// <summary>The note.</summary>
    Note,
}

/// <summary>A field that cannot be taken.</summary>
/// <param name="Field">Which.</param>
/// <param name="Found">What was found.</param>
/// <param name="Expected">What was expected.</param>
/// <param name="Remedy">What to do.</param>
public sealed record CheckFault(CheckField Field, string Found, string Expected, string Remedy)
{
    /// <summary>The fault as one sentence.</summary>
    public override string ToString() => $"{Found}, expected {Expected}; {Remedy}";
}
