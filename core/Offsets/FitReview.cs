using System.Text.Json.Serialization;
using PavementWatch.Core.Surfaces;
using PavementWatch.Core.Weather;

namespace PavementWatch.Core.Offsets;

/// <summary>Why a new fit may take over, or may not.</summary>
public enum FitReason
{
    /// <summary>Nobody has looked.</summary>
    Unknown = 0,

    /// <summary>The first of its spot, which has no readings yet.</summary>
    FirstFromHandbook,

    /// <summary>The first of its spot, on readings.</summary>
    FirstOnReadings,

    /// <summary>It has no readings in its window, while the one in use has some.</summary>
    NoReadings,

    /// <summary>There are no readings in the last days to hold it against.</summary>
    NothingToCompare,

    /// <summary>On the middle one of the days it did no worse.</summary>
    NoWorse,

    /// <summary>On the middle one of the days it did worse; the analyst decides.</summary>
    Worse,
}

/// <summary>Whether a new fit may take over.</summary>
/// <param name="Because">Why it may, or waits for the analyst.</param>
/// <param name="CandidateKelvin">[K] Its error on the middle one of the days; <c>null</c> when nothing was compared.</param>
/// <param name="InUseKelvin">[K] The error of the one in use on that day.</param>
/// <param name="Days">On how many days they were compared, or should have been.</param>
public sealed record FitJudgement(FitReason Because, double? CandidateKelvin = null, double? InUseKelvin = null, int Days = 0)
{
    /// <summary>How the spot is no longer what an older fit knew, where it is not; it decides nothing.</summary>
    public DriftFinding? Drift { get; init; }

    /// <summary>Whether it may take over.</summary>
    [JsonIgnore]
    public bool Accepted => Because is FitReason.FirstFromHandbook or FitReason.FirstOnReadings or FitReason.NothingToCompare or FitReason.NoWorse;
}

/// <summary>Holds a new fit against the one in use, on the last days and without their surface readings.</summary>
/// <remarks>
/// Compared day by day, and the middle day decides: one bad day, a parked van or hail, that the new fit has learnt and
/// the old one has not, neither lets a worse fit in nor keeps a better one out.
/// </remarks>
public static class FitReview
{
    private const int LeastReadings = 6;
    private static readonly TimeSpan Lookback = TimeSpan.FromDays(3);

    /// <summary>Judges a new fit.</summary>
    /// <param name="candidate">The new fit.</param>
    /// <param name="inUse">The one in use; <c>null</c> when there is none.</param>
    /// <param name="spot">The spot of both.</param>
    /// <param name="history">Weather and surface readings in time order, some days longer than those to compare.</param>
    /// <param name="now">End of the last day, UTC.</param>
    /// <param name="days">How many last days are compared; 1 or more.</param>
    /// <param name="toleranceKelvin">[K] How much worse the new fit may be on the middle day; 0 or more.</param>
    /// <returns>The judgement.</returns>
    /// <exception cref="ArgumentOutOfRangeException">Days or tolerance are out of range.</exception>
    public static FitJudgement Judge(
        OffsetFit candidate, OffsetFit? inUse, Spot spot, IReadOnlyList<WeatherSample> history, DateTimeOffset now,
        int days = 5, double toleranceKelvin = 0.1)
    {
        ArgumentNullException.ThrowIfNull(candidate);
        ArgumentNullException.ThrowIfNull(history);
        ArgumentOutOfRangeException.ThrowIfLessThan(days, 1);
        if (!(toleranceKelvin >= 0))
            throw new ArgumentOutOfRangeException(nameof(toleranceKelvin), toleranceKelvin, "expected 0 or more");
        if (inUse is null)
            return new FitJudgement(candidate.SampleCount == 0 ? FitReason.FirstFromHandbook : FitReason.FirstOnReadings);
        if (candidate.SampleCount == 0 && inUse.SampleCount > 0)
            return new FitJudgement(FitReason.NoReadings);

        var compared = Compare(candidate, inUse, spot, history, now, days);
        if (compared.Count == 0)
            return new FitJudgement(FitReason.NothingToCompare, Days: days);
        compared.Sort((a, b) => (a.Candidate - a.InUse).CompareTo(b.Candidate - b.InUse));
        var (mine, its) = compared[compared.Count / 2];
        return new FitJudgement(mine <= its + toleranceKelvin ? FitReason.NoWorse : FitReason.Worse, mine, its, compared.Count);
    }

    private static List<(double Candidate, double InUse)> Compare(
        OffsetFit candidate, OffsetFit inUse, Spot spot, IReadOnlyList<WeatherSample> history, DateTimeOffset now, int days)
    {
        var begin = now - TimeSpan.FromDays(days) - Lookback;
        var end = WeatherSample.FirstAfter(history, now);
        var blind = new List<WeatherSample>();
        for (var i = WeatherSample.FirstAfter(history, begin); i < end; i++)
            blind.Add(history[i] with { SurfaceCelsius = null });
        var (mine, its) = (new OffsetEstimator(candidate, spot, blind, now), new OffsetEstimator(inUse, spot, blind, now));

        var compared = new List<(double Candidate, double InUse)>();
        for (var day = 0; day < days; day++)
        {
            var finish = now - TimeSpan.FromDays(day);
            double candidates = 0;
            double others = 0;
            var count = 0;
            var to = WeatherSample.FirstAfter(history, finish);
            for (var i = WeatherSample.FirstAfter(history, finish - TimeSpan.FromDays(1)); i < to; i++)
            {
                if (history[i].SurfaceCelsius is not { } surface)
                    continue;
                var (a, b) = (mine.At(history[i].At).SurfaceCelsius - surface, its.At(history[i].At).SurfaceCelsius - surface);
                if (!double.IsFinite(a) || !double.IsFinite(b))
                    continue;
                candidates += a * a;
                others += b * b;
                count++;
            }

            if (count >= LeastReadings)
                compared.Add((Math.Sqrt(candidates / count), Math.Sqrt(others / count)));
        }

        return compared;
    }
}
