using System.Globalization;
using PavementWatch.Core.Offsets;
using PavementWatch.Core.Team;
using PavementWatch.Dashboards.Spots;
using PavementWatch.Dashboards.Texts;

namespace PavementWatch.Dashboards.Analyst;

/// <summary>Fits in plain words, for the analyst.</summary>
internal static class FitTexts
{
    /// <summary>What a fit looks at besides the surface.</summary>
    /// <param name="inUse">The fit in use, if any.</param>
    /// <returns>A sentence.</returns>
    public static string Inputs(OffsetFit? inUse)
    {
        if (inUse is not { SampleCount: > 0, Parts: [{ Inputs: var inputs }, ..] })
            return "No fit on readings is in use yet.";
        List<string> looks = ["the air"];
        if (inputs.HasFlag(OffsetInputs.Humidity))
            looks.Add("its humidity");
        if (inputs.HasFlag(OffsetInputs.Wind))
            looks.Add("a station’s wind");
        if (inputs.HasFlag(OffsetInputs.Solar))
            looks.Add("a station’s sun");
        return $"The fit in use looks at {(looks.Count == 1 ? looks[0] : string.Join(", ", looks[..^1]) + " and " + looks[^1])}.";
    }

    /// <summary>Which of wind and sun no station measured beside the residuals, with its verb; empty when both were.</summary>
    public static string Missing(IReadOnlyList<ResidualPoint> points) =>
        (points.Any(p => p.WindMetersPerSecond is not null), points.Any(p => p.SolarWattsPerSquareMeter is not null)) switch
        {
            (false, false) => "wind and no measured sun are",
            (false, true) => "wind is",
            (true, false) => "measured sun is",
            _ => "",
        };

    /// <summary>From when to when a fit has learned, by the spot's clock.</summary>
    public static string Learned(FitFigures fit, DateTimeOffset now, string timeZoneId) => fit.SampleCount == 0
        ? "the handbook"
        : $"{MomentTexts.Moment(fit.LearnedFrom, now, timeZoneId)} to {MomentTexts.Moment(fit.LearnedTo, now, timeZoneId)}";

    /// <summary>Where a fit stands, in a word or two.</summary>
    public static string Word(FitPlace place) => place switch
    {
        FitPlace.InUse => "in use",
        FitPlace.Waiting => "waiting",
        FitPlace.Refused => "refused",
        FitPlace.Retired => "retired",
        _ => "earlier",
    };

    /// <summary>Whether a spot is estimated just now and how sure, as the beginning of a sentence; empty when it is measured.</summary>
    public static string Now(SpotNow? spot) => spot switch
    {
        { Estimated: true, EstimateDoubt: not EstimateDoubt.None and var doubt } => $"estimated now. {EstimateDoubtTexts.Of(doubt)}. ",
        { Estimated: true } => "estimated now; ",
        _ => "",
    };

    /// <summary>How far warnings lean to the warm side.</summary>
    public static string Lean(HotHourCorrection lean, TemperatureUnit unit) => string.Create(
        CultureInfo.InvariantCulture,
        $"Warnings of the time ahead lean to the warm side when the surface is expected above {Temperatures.InSentence(lean.FromCelsius, unit)}, fully from {Temperatures.InSentence(lean.FullCelsius, unit)} on: by {Differences.Size(lean.Kelvin, unit)} without a reading, by less with a fresh one. So much was missing in the hours that turned out hottest. What people are shown, residuals, checks and intervals are without it.");

    /// <summary>How much further out the ends of the interval lie in heat.</summary>
    public static string Ends(IntervalEnds ends, TemperatureUnit unit) => string.Create(
        CultureInfo.InvariantCulture,
        $"Under a high sun the ends of the interval lie further out from {Temperatures.InSentence(ends.FromCelsius, unit)} expected on: at {Temperatures.InSentence(ends.FullCelsius, unit)} the upper one {ends.Upper(1):0.0} times, the lower one {ends.Lower(1):0.0} times as far as on other hours.");

    /// <summary>How often the interval held, on all hours and on those expected hottest.</summary>
    public static string Record(IntervalRecord record) => string.Create(
        CultureInfo.InvariantCulture,
        $"In the last {record.Days} days of the fit in use, each estimated from the days before it, the 90 % interval held {record.InsidePercent:0.0} % of {record.Count} readings. In the tenth expected hottest it held {record.HottestInsidePercent:0.0} %, and {record.HottestAbovePercent:0.0} % were over its upper end.");
}
