using System.Globalization;

namespace PavementWatch.Core.Alerts;

/// <summary>A change of a spot, and why. Also recorded when nobody is told.</summary>
/// <param name="From">Where it stood.</param>
/// <param name="To">Where it stands; the same while a silent spot's estimate changes.</param>
/// <param name="Because">Why.</param>
/// <param name="At">When it was decided, UTC.</param>
/// <param name="Notify">Whether walkers are told: only what changes what they were told before.</param>
/// <param name="SurfaceCelsius">[°C] The good reading, the reading in doubt, or the estimate it rests on; <c>null</c> for silence.</param>
public sealed record AlertDecision(
    AlertState From, AlertState To, AlertReason Because, DateTimeOffset At, bool Notify, double? SurfaceCelsius)
{
    /// <summary>[°C] The limit that held.</summary>
    public double LimitCelsius { get; init; }

    /// <summary>[°C] The estimate's upper end, where an estimate decided.</summary>
    public double? UpperCelsius { get; init; }

    /// <summary>When the limit is expected to be reached, UTC, where that decided.</summary>
    public DateTimeOffset? ReachesAt { get; init; }

    /// <summary>When the last good reading was taken, UTC, where there was one.</summary>
    public DateTimeOffset? LastGoodAt { get; init; }

    /// <summary>Whether this tells that a hot spell is over.</summary>
    public bool IsOver => Because is AlertReason.UnderLongEnough or AlertReason.EstimateUnderLongEnough;

    /// <summary>Whether this warns: the ground is, may be or will be too hot.</summary>
    public bool IsWarning => Because is AlertReason.ReadingsOverLimit or AlertReason.OverLimitAgain
        or AlertReason.TrendReachesLimit or AlertReason.ForecastReachesLimit
        or AlertReason.EstimateOverLimit or AlertReason.DoubtfulOverLimit;

    /// <summary>The decision for people, in °C and °F.</summary>
    /// <param name="spotName">The spot's name for people.</param>
    /// <returns>One or two plain sentences.</returns>
    public string Text(string spotName)
    {
        var limit = Degrees(LimitCelsius);
        var surface = SurfaceCelsius is { } celsius ? Degrees(celsius) : "not measured";
        var upper = UpperCelsius is { } most ? Degrees(most) : "unknown";
        return Because switch
        {
            AlertReason.ReadingsOverLimit => $"{spotName} is too hot: the ground is at {surface}, the limit is {limit}.",
            AlertReason.OverLimitAgain => $"{spotName} is too hot again: the ground is at {surface}, the limit is {limit}.",
            AlertReason.TrendReachesLimit or AlertReason.ForecastReachesLimit =>
                $"{spotName} will be too hot {Lead()}: the ground is at {surface}, the limit is {limit}.",
            AlertReason.RiseEnded => $"{spotName} is no longer about to be too hot: the ground is at {surface}.",
            AlertReason.UnderByMargin => $"{spotName} is easing: the ground is at {surface}. Wait, it is not over yet.",
            AlertReason.UnderLongEnough => $"{spotName} is below its limit again: the ground is at {surface}, the limit is {limit}.",
            AlertReason.ReadingsBack => $"{spotName} is measured again: the ground is at {surface}, the limit is {limit}.",
            AlertReason.EstimateOverLimit =>
                $"{spotName} is estimated too hot: it is not measured now and may be at {upper}, the limit is {limit}. Take it as too hot.",
            AlertReason.DoubtfulOverLimit =>
                $"{spotName} may be too hot: the sensor is in doubt and says {surface}, the limit is {limit}. Take it as too hot.",
            AlertReason.EstimateUnderLongEnough =>
                $"{spotName} is estimated to be below its limit: it is not measured now and is at most about {upper}. Test the ground yourself.",
            _ => $"{spotName} is not measured now; what it is at is not known. Test the ground yourself.",
        };
    }

    private string Lead()
    {
        var minutes = ReachesAt is { } at ? Math.Ceiling((at - At).TotalMinutes) : 0;
        return minutes switch
        {
            <= 0 => "at any moment",
            1 => "in about a minute",
            _ => string.Create(CultureInfo.InvariantCulture, $"in about {minutes:F0} minutes"),
        };
    }

    private static string Degrees(double celsius) => string.Create(
        CultureInfo.InvariantCulture, $"{celsius:F0} °C ({(celsius * 9 / 5) + 32:F0} °F)");
}
