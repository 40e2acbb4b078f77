using System.Globalization;
using System.Text.Json;
using System.Text.Json.Serialization;
using PavementWatch.Core.Offsets;
using PavementWatch.Core.Team;

namespace PavementWatch.Dashboards.Texts;

/// <summary>Why a fit stands where it does: what its review found is kept as data, and its words are made in the unit of whoever reads them.</summary>
public static class FitReasonTexts
{
    private static readonly JsonSerializerOptions Kept = new() { Converters = { new JsonStringEnumConverter() }, DefaultIgnoreCondition = JsonIgnoreCondition.WhenWritingNull };

    /// <summary>What a review found, as it is kept.</summary>
    public static string Keep(FitJudgement judgement) => JsonSerializer.Serialize(judgement, Kept);

    /// <summary>A reason that was kept, in words.</summary>
    /// <param name="kept">What a review found, or a sentence: of somebody who decided, or of an earlier edition, which kept no other.</param>
    /// <param name="unit">Who reads it wants this.</param>
    public static string Of(string kept, TemperatureUnit unit)
    {
        ArgumentNullException.ThrowIfNull(kept);
        return Read(kept) is { } judgement ? Of(judgement, unit) : kept;
    }

    /// <summary>What a review found, in words.</summary>
    public static string Of(FitJudgement judgement, TemperatureUnit unit)
    {
        ArgumentNullException.ThrowIfNull(judgement);
        return Review(judgement, unit) + (judgement.Drift is { Kind: not (DriftKind.Unknown or DriftKind.None) } drift ? $"; the spot {Drift(drift, unit)}" : "");
    }

    private static string Review(FitJudgement judgement, TemperatureUnit unit)
    {
        string Scores() => string.Create(
            CultureInfo.InvariantCulture,
            $"{Differences.Fine(judgement.CandidateKelvin ?? 0, unit)} against {Differences.Fine(judgement.InUseKelvin ?? 0, unit)} on the middle one of the last {judgement.Days} days");
        return judgement.Because switch
        {
            FitReason.FirstFromHandbook => "the first: from the handbook, no readings yet",
            FitReason.FirstOnReadings => "the first on readings",
            FitReason.NoReadings => "no readings in its window, while the one in use has some",
            FitReason.NothingToCompare => string.Create(CultureInfo.InvariantCulture, $"no readings in the last {judgement.Days} days to hold it against"),
            FitReason.NoWorse => $"no worse: {Scores()}",
            FitReason.Worse => $"worse: {Scores()}; the analyst decides",
            _ => "not looked at",
        };
    }

    private static string Drift(DriftFinding found, TemperatureUnit unit)
    {
        var size = string.Create(
            CultureInfo.InvariantCulture,
            $"{Differences.Signed(found.DayKelvin, unit)} by day, {Differences.Signed(found.NightKelvin, unit)} by night over {found.Days} days");
        return found.Kind switch
        {
            DriftKind.TakesMoreSun => $"takes more of the sun than it did ({size}): resurfaced, sealed or a shade gone? look at the place, then accept the new fit",
            DriftKind.TakesLessSun => $"takes less of the sun than it did ({size}): painted, covered or newly shaded? look at the place, then accept the new fit",
            DriftKind.SensorDulled => $"reads nearer to the air by day and night ({size}): clean the sensor's window and look for webs and leaves",
            DriftKind.SensorShifted => $"reads off by the same by day and night ({size}): check the sensor against a hand-held thermometer and calibrate it",
            _ => $"is not what it was ({size}): look at the place and check the sensor",
        };
    }

    private static FitJudgement? Read(string kept)
    {
        if (!kept.StartsWith('{'))
            return null;
        try
        {
            return JsonSerializer.Deserialize<FitJudgement>(kept, Kept);
        }
        catch (JsonException)
        {
            // Of a later edition: shown as it is.
            return null;
        }
    }
}
