using PavementWatch.Core.Contact;
using PavementWatch.Core.Offsets;
using PavementWatch.Core.Readings;
using PavementWatch.Core.Surfaces;

namespace PavementWatch.Dashboards.Days;

/// <summary>One local day of one spot, ready to draw; the same for everybody, but for a walk that is drawn on it.</summary>
/// <param name="Spot">The spot.</param>
/// <param name="Day">The local day.</param>
/// <param name="From">Its first moment, UTC.</param>
/// <param name="To">Its end, exclusive, UTC (23, 24 or 25 h later).</param>
/// <param name="Points">In time order, at most one a minute; gaps are gaps.</param>
/// <param name="TooHot">Spans at or over the limit, measured or estimated.</param>
public sealed record SpotDay(
    Spot Spot, DateOnly Day, DateTimeOffset From, DateTimeOffset To,
    IReadOnlyList<DayPoint> Points, IReadOnlyList<TooHotSpan> TooHot)
{
    /// <summary>A dog's walk to draw on it, put there by who shows it to somebody; <c>null</c> for none.</summary>
    public WalkMark? Walk { get; init; }

    /// <summary>Where the air of the hours that are still to come is from; <c>null</c> when the day has none that is estimated.</summary>
    public ComingHours? Coming { get; init; }

    /// <summary>How often such estimates held on the last days; <c>null</c> on a day that is over, and where nobody can tell.</summary>
    public IntervalRecord? Record { get; init; }

    /// <summary>When what was measured was in doubt throughout, in time order.</summary>
    public IReadOnlyList<DoubtedSpan> Doubted { get; init; } = [];

    /// <summary>Whether no good reading ever came from the spot: under the limit its estimates are no comfort.</summary>
    public bool NeverMeasured { get; init; }
}

/// <summary>A time in which every reading was in doubt.</summary>
/// <param name="From">UTC.</param>
/// <param name="To">UTC.</param>
/// <param name="Doubt">What was held against any of them.</param>
public sealed record DoubtedSpan(DateTimeOffset From, DateTimeOffset To, Doubt Doubt)
{
    /// <summary>[°C] The hottest of these readings; <c>null</c> where none has a surface.</summary>
    public double? HottestCelsius { get; init; }

    /// <summary>[°C] The coldest of these readings; <c>null</c> where none has a surface.</summary>
    public double? ColdestCelsius { get; init; }

    /// <summary>Whether one was at or under freezing: that counts as a frost, doubtful as it is.</summary>
    public bool IsFreezing => ColdestCelsius is { } coldest && GroundWords.IsAt(-coldest, -GroundWords.FreezingUpToCelsius);

    /// <summary>Whether one was at the limit or over it: that counts as too hot, doubtful as it is.</summary>
    /// <param name="limitCelsius">[°C] The limit.</param>
    /// <returns>Whether it counts.</returns>
    public bool IsTooHot(double limitCelsius) => HottestCelsius >= limitCelsius;
}

/// <summary>Where the air of the coming hours is from: a forecast, as far as it reaches, else their last day.</summary>
/// <param name="From">First of the coming moments, UTC.</param>
/// <param name="Forecast">What a forecast says of them; <c>null</c> when there is none.</param>
/// <param name="AllForecast">Whether it speaks of every one of them.</param>
public sealed record ComingHours(DateTimeOffset From, ForecastUsed? Forecast, bool AllForecast);

/// <summary>A forecast as it was used.</summary>
/// <param name="From">First moment estimated by it, UTC.</param>
/// <param name="Until">Last moment estimated by it, UTC.</param>
/// <param name="OldestIssue">When the oldest issue used was made, UTC.</param>
/// <param name="NewestIssue">When the newest issue used was made, UTC.</param>
/// <param name="WithWind">Whether its wind was used as well.</param>
/// <param name="WithSun">Whether its sun was used as well.</param>
public sealed record ForecastUsed(
    DateTimeOffset From, DateTimeOffset Until, DateTimeOffset OldestIssue, DateTimeOffset NewestIssue, bool WithWind, bool WithSun);

/// <summary>One moment of a day's curve.</summary>
/// <param name="At">UTC.</param>
/// <param name="SurfaceCelsius">[°C] Measured (good) surface; <c>null</c> where there is only an estimate.</param>
/// <param name="AirCelsius">[°C] Air, or <c>null</c>.</param>
/// <param name="EstimateCelsius">[°C] Estimated surface where none was measured or for hours ahead, or <c>null</c>.</param>
/// <param name="LowerCelsius">[°C] Lower end of its 90 % interval.</param>
/// <param name="UpperCelsius">[°C] Upper end of its 90 % interval.</param>
public sealed record DayPoint(
    DateTimeOffset At, double? SurfaceCelsius, double? AirCelsius,
    double? EstimateCelsius, double? LowerCelsius, double? UpperCelsius)
{
    /// <summary>Why the estimate may be further off than its interval says.</summary>
    public EstimateDoubt Doubt { get; init; }

    /// <summary>[°C] The hottest good reading it stands for; <c>null</c> where none was measured.</summary>
    public double? HottestCelsius { get; init; }

    /// <summary>[°C] The coldest good reading it stands for; <c>null</c> where none was measured.</summary>
    public double? ColdestCelsius { get; init; }
}

/// <summary>A span at or over the limit.</summary>
/// <param name="From">UTC.</param>
/// <param name="To">UTC; exclusive.</param>
/// <param name="Estimated">Whether any of it rests on an estimate's upper end.</param>
public sealed record TooHotSpan(DateTimeOffset From, DateTimeOffset To, bool Estimated);

/// <summary>A walk as it is drawn on a day's curve.</summary>
/// <param name="From">UTC.</param>
/// <param name="To">UTC.</param>
/// <param name="Dog">The dog's name.</param>
/// <param name="Note">What was done and why, in plain words.</param>
public sealed record WalkMark(DateTimeOffset From, DateTimeOffset To, string Dog, string Note)
{
    /// <summary>What its ground adds up to, at all its spots; <c>null</c> where that is said elsewhere.</summary>
    public WalkDose? Dose { get; init; }
}

/// <summary>The days of spots.</summary>
public interface ISpotDays
{
    /// <summary>A local day of a spot.</summary>
    /// <returns>The day, without any walk; <c>null</c> when there is no such spot. A day without readings has no points.</returns>
    Task<SpotDay?> DayAsync(SpotId spot, DateOnly day, CancellationToken cancellationToken);

    /// <summary>Today at the spot, in its own time zone; <c>null</c> when there is no such spot.</summary>
    DateOnly? Today(SpotId spot);
}
