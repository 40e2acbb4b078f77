using System.Security.Claims;
using PavementWatch.Core.Agreement;
using PavementWatch.Core.Offsets;
using PavementWatch.Core.Readings;
using PavementWatch.Core.Surfaces;
using PavementWatch.Dashboards.Checks;

namespace PavementWatch.Dashboards.Analyst;

/// <summary>What the analyst reads and decides about offsets. The server keeps it.</summary>
public interface IAnalystQuery
{
    /// <summary>Every spot with the fit in use and those that wait, in the business's order.</summary>
    Task<IReadOnlyList<SpotOffset>> SpotsAsync(CancellationToken cancellationToken);

    /// <summary>One spot in full; <c>null</c> when it is not known.</summary>
    Task<SpotReview?> ReviewAsync(SpotId spot, CancellationToken cancellationToken);

    /// <summary>Puts a waiting fit into use or refuses it, and keeps who, when and why.</summary>
    /// <returns>Why it could not be; <c>null</c> when it is done.</returns>
    Task<string?> DecideAsync(
        SpotId spot, string fitId, bool accept, string reason, ClaimsPrincipal by, CancellationToken cancellationToken);

    /// <summary>What is asked of sensors and offsets.</summary>
    Task<AgreementThresholds> ThresholdsAsync(CancellationToken cancellationToken);

    /// <summary>Asks for something else from now on.</summary>
    Task SetThresholdsAsync(AgreementThresholds asked, ClaimsPrincipal by, CancellationToken cancellationToken);
}

/// <summary>A spot's offset in the list of all.</summary>
/// <param name="Spot">The spot.</param>
/// <param name="InUse">The fit in use, if any.</param>
/// <param name="Waiting">Those that wait for a decision, newest first.</param>
/// <param name="History">Fits on readings from the first on, in time order; of many every second, third or so.</param>
public sealed record SpotOffset(Spot Spot, FitVersion? InUse, IReadOnlyList<FitVersion> Waiting, IReadOnlyList<FitPoint> History);

/// <summary>A spot and its fits.</summary>
/// <param name="Spot">The spot.</param>
/// <param name="Versions">Its fits, newest first, no more than the host keeps at hand.</param>
public sealed record SpotFits(Spot Spot, IReadOnlyList<FitVersion> Versions)
{
    /// <summary>How many fits there are in all.</summary>
    public int Count { get; init; }

    /// <summary>Those that this edition of the program cannot read, newest first.</summary>
    public IReadOnlyList<UnreadableFit> Unreadable { get; init; } = [];

    /// <summary>The one in use, if any.</summary>
    public FitVersion? InUse => Versions.FirstOrDefault(v => v.Place == FitPlace.InUse);

    /// <summary>Those that wait for a decision, newest first.</summary>
    public IReadOnlyList<FitVersion> Waiting => [.. Versions.Where(v => v.Place == FitPlace.Waiting)];
}

/// <summary>A fit that another edition of the program wrote.</summary>
/// <param name="Id">Its name.</param>
/// <param name="FittedAt">When it was made, UTC.</param>
/// <param name="Reason">Where it stands and why, in a plain sentence.</param>
public sealed record UnreadableFit(string Id, DateTimeOffset FittedAt, string Reason);

/// <summary>A fit in the history of its spot.</summary>
/// <param name="FittedAt">When it was made, UTC.</param>
/// <param name="MeanOffsetKelvin">[K] Mean of surface minus air in its window.</param>
public sealed record FitPoint(DateTimeOffset FittedAt, double MeanOffsetKelvin);

/// <summary>A fit and where it stands.</summary>
/// <param name="Fit">Its figures; they never change.</param>
/// <param name="Place">Where it stands.</param>
/// <param name="Reason">Why, in a plain sentence.</param>
/// <param name="DecidedAt">Since when, UTC.</param>
public sealed record FitVersion(FitFigures Fit, FitPlace Place, string Reason, DateTimeOffset DecidedAt);

/// <summary>What is shown of a fit.</summary>
/// <param name="Id">Its name.</param>
/// <param name="FittedAt">When it was made, UTC.</param>
/// <param name="SampleCount">How many steps it rests on; 0 is the handbook alone.</param>
public sealed record FitFigures(string Id, DateTimeOffset FittedAt, int SampleCount)
{
    /// <summary>First moment it learned from, UTC; of a fit that does not say, the begin of its window.</summary>
    public DateTimeOffset LearnedFrom { get; init; }

    /// <summary>Last moment it learned from, likewise.</summary>
    public DateTimeOffset LearnedTo { get; init; }

    /// <summary>[K] Mean of surface minus air; 0 without samples.</summary>
    public double MeanOffsetKelvin { get; init; }

    /// <summary>[K] Robust spread of its errors.</summary>
    public double ResidualScaleKelvin { get; init; }

    /// <summary>[%] Readings inside the 90 % interval given before; <c>null</c> when there were too few days to tell.</summary>
    public double? IntervalCoveragePercent { get; init; }
}

/// <summary>Where a fit stands.</summary>
public enum FitPlace
{
    /// <summary>Did worse on the last days; the analyst decides.</summary>
    Waiting = 0,

    /// <summary>The one that estimates.</summary>
    InUse,

    /// <summary>Was in use.</summary>
    Replaced,

    /// <summary>The analyst said no.</summary>
    Refused,

    /// <summary>Not to be used again: what it was made for is no more.</summary>
    Retired,
}

/// <summary>What somebody decided about a fit.</summary>
/// <param name="At">When, UTC.</param>
/// <param name="By">Who.</param>
/// <param name="FitId">Which fit.</param>
/// <param name="Accepted">Whether it went into use.</param>
/// <param name="Reason">Why, in their words.</param>
/// <param name="ReplacedFitId">The one it replaced, if any.</param>
public sealed record FitDecision(DateTimeOffset At, string By, string FitId, bool Accepted, string Reason, string? ReplacedFitId);

/// <summary>One spot in full.</summary>
/// <param name="Fits">The spot and its fits.</param>
/// <param name="Decisions">What people decided, newest first.</param>
/// <param name="Residuals">Errors of the fit in use on the last days.</param>
/// <param name="Agreement">Sensor and estimate against hand-held checks.</param>
/// <param name="InUse">The whole fit in use, if any.</param>
public sealed record SpotReview(
    SpotFits Fits, IReadOnlyList<FitDecision> Decisions, ResidualReview Residuals, SpotAgreement Agreement, OffsetFit? InUse)
{
    /// <summary>Whether a probe measures it.</summary>
    public bool IsMeasured { get; init; }

    /// <summary>Readings of the days of the residuals.</summary>
    public int ReadingCount { get; init; }

    /// <summary>How many of them are in doubt, by each doubt, the most frequent first; one with two doubts counts in both.</summary>
    public IReadOnlyList<DoubtedReadings> Doubted { get; init; } = [];

    /// <summary>Rain that a station measured on these days; <c>null</c> where none fell or nobody measures it.</summary>
    public MeasuredRain? Rain { get; init; }
}

/// <summary>Rain of some days.</summary>
/// <param name="Millimeters">[mm] All of it.</param>
/// <param name="LastAt">When it fell last, UTC.</param>
public sealed record MeasuredRain(double Millimeters, DateTimeOffset LastAt);

/// <summary>Readings in doubt.</summary>
/// <param name="Doubt">One doubt.</param>
/// <param name="Count">How many have it.</param>
public sealed record DoubtedReadings(Doubt Doubt, int Count)
{
    /// <summary>By each single doubt, the most frequent first.</summary>
    /// <param name="counts">How many readings have each set of doubts.</param>
    public static IReadOnlyList<DoubtedReadings> Of(IReadOnlyDictionary<Doubt, int> counts) =>
    [
        .. Enum.GetValues<Doubt>().Where(d => d != Doubt.None)
            .Select(d => new DoubtedReadings(d, counts.Where(c => c.Key.HasFlag(d)).Sum(c => c.Value)))
            .Where(d => d.Count > 0).OrderByDescending(d => d.Count),
    ];
}
