using System.Text.Json.Serialization;
using PavementWatch.Core.Contact;
using PavementWatch.Core.Places;

namespace PavementWatch.Core.Alerts;

/// <summary>Everything the state machine of one spot remembers. As JSON it survives a restart, and reads back equal.</summary>
public sealed record AlertMemory
{
    /// <summary>What was told ends when nobody looks for this long.</summary>
    public static readonly TimeSpan LongestAway = TimeSpan.FromHours(6);

    /// <summary>Where the spot stands.</summary>
    [JsonConverter(typeof(JsonStringEnumConverter<AlertState>))]
    public AlertState State { get; init; }

    /// <summary>Since when, UTC.</summary>
    public DateTimeOffset Since { get; init; }

    /// <summary>When the newest good surface reading was taken, UTC.</summary>
    public DateTimeOffset? LastGoodAt { get; init; }

    /// <summary>[°C] What it said.</summary>
    public double? LastGoodCelsius { get; init; }

    /// <summary>Good readings at or over the limit, one after another, up to now.</summary>
    public int HotReadings { get; init; }

    /// <summary>Since when good readings have been under the limit by the margin, UTC.</summary>
    public DateTimeOffset? EasedSince { get; init; }

    /// <summary>What walkers were told of a hot spell that is not over.</summary>
    [JsonConverter(typeof(JsonStringEnumConverter<HotEpisode>))]
    public HotEpisode Hot { get; init; }

    /// <summary>Good readings that burn in seconds (or are bitter), one after another, up to now.</summary>
    public int ExtremeReadings { get; init; }

    /// <summary>Whether walkers were told in this spell that it burns in seconds (or is bitter).</summary>
    public bool ExtremeTold { get; init; }

    /// <summary>Of the cold: good readings at or under freezing, one after another, up to now.</summary>
    public int FreezingReadings { get; init; }

    /// <summary>Of the cold: whether walkers were told in this spell of ground at or under freezing; their limit may lie over it.</summary>
    public bool FreezingTold { get; init; }

    /// <summary>When the ground was last measured or estimated as not under the limit by the margin, UTC; <c>null</c> also in what an earlier edition wrote.</summary>
    public DateTimeOffset? HeatSeenAt { get; init; }

    /// <summary>When the forecast or the trend last reached the limit, UTC.</summary>
    public DateTimeOffset? RisingAt { get; init; }

    /// <summary>When walkers were last told that it is rising, UTC.</summary>
    public DateTimeOffset? RisingToldAt { get; init; }

    /// <summary>Whether walkers stand told that it is rising: it neither came nor was called off. Ends with the day on which it was told; that of the cold twelve hours after.</summary>
    public bool RiseTold { get; init; }

    /// <summary>Readings in doubt at or over the limit, one after another, up to now.</summary>
    public int DoubtfulHotReadings { get; init; }

    /// <summary>When the newest reading in doubt was taken, UTC.</summary>
    public DateTimeOffset? DoubtfulAt { get; init; }

    /// <summary>[°C] What it said; <c>null</c> once it is as old as the silent span, and in what an earlier edition wrote.</summary>
    public double? DoubtfulCelsius { get; init; }

    /// <summary>[°C] The limit of the last step; <c>null</c> before the first, and in what an earlier edition wrote.</summary>
    public double? LimitCelsius { get; init; }

    /// <summary>[°C] The limit by which walkers were told of the heat, where it was raised since and the ground did not reach the new one; else <c>null</c>.</summary>
    public double? LimitBeforeCelsius { get; init; }

    /// <summary>Since when the estimate's upper end has been under the limit by the margin, UTC.</summary>
    public DateTimeOffset? EstimateEasedSince { get; init; }

    /// <summary>When the forecast's upper end last reaches the limit within the time that an all-clear must hold, UTC; <c>null</c> when it stays under it.</summary>
    public DateTimeOffset? ForecastHotAt { get; init; }

    /// <summary>When walkers were last told that it is over, UTC.</summary>
    public DateTimeOffset? OverToldAt { get; init; }

    /// <summary>The newest good readings, oldest first; what the trend is taken from.</summary>
    public IReadOnlyList<TrendPoint> Recent { get; init; } = [];

    /// <summary>The same of the cold, see <see cref="AlertMachine.StepCold"/>; <c>null</c> before its first step and in itself.</summary>
    public AlertMemory? Cold { get; init; }

    /// <summary>Of ice on the ground, see <see cref="IceMemory"/>; <c>null</c> before the first step of the cold, and in what an earlier edition wrote.</summary>
    public IceMemory? Ice { get; init; }

    /// <summary>Whether walkers stand told that it is too hot and nothing has come up against it.</summary>
    [JsonIgnore]
    public bool StandsTold => Hot is HotEpisode.Estimated or HotEpisode.Measured;

    /// <summary>A spot of which nothing is known yet.</summary>
    /// <param name="at">The moment, UTC.</param>
    /// <returns>A silent spot.</returns>
    public static AlertMemory Start(DateTimeOffset at) => new() { State = AlertState.Silent, Since = at };

    /// <summary>The same after a time in which nobody looked: what was told before six hours or more is told anew.</summary>
    /// <param name="away">How long.</param>
    /// <returns>The memory to go on with.</returns>
    public AlertMemory AfterAbsence(TimeSpan away) => away.Duration() < LongestAway ? this : this with
    {
        Hot = HotEpisode.None,
        ExtremeTold = false,
        RiseTold = false,
        FreezingTold = false,
        LimitBeforeCelsius = null,
        Cold = Cold?.AfterAbsence(away),
    };

    /// <summary>The same after a restart. What was kept at a moment that lies ahead was kept by a clock that was set back since; how long nobody looked is not known then.</summary>
    /// <param name="keptAt">When it was kept, UTC, by the clock of then.</param>
    /// <param name="now">UTC.</param>
    /// <param name="rule">The spot's rule.</param>
    /// <returns>The memory to go on with; what was told stands where both clocks show the same local day, or nearly the same time.</returns>
    public AlertMemory AfterRestart(DateTimeOffset keptAt, DateTimeOffset now, AlertRule rule)
    {
        ArgumentNullException.ThrowIfNull(rule);
        var ahead = keptAt - now;
        if (ahead <= rule.Interval)
            return AfterAbsence(now - keptAt);
        // Nothing that counts on readings following each other goes on.
        var dated = Earlier(ahead + rule.SilentAfter);
        return LocalDay.Of(rule.Zone, keptAt) == LocalDay.Of(rule.Zone, now) ? dated : dated.AfterAbsence(ahead);
    }

    /// <summary>The same by the limit that holds now.</summary>
    internal AlertMemory ByLimit(double limitCelsius)
    {
        if (LimitCelsius == limitCelsius)
            return this;
        var told = StandsTold || State is AlertState.TooHot or AlertState.Easing ? LimitBeforeCelsius ?? LimitCelsius : null;
        return this with { LimitCelsius = limitCelsius, LimitBeforeCelsius = told < limitCelsius ? told : null };
    }

    /// <summary>Whether it is under the limit only because that was raised: before, it would not have eased.</summary>
    internal bool IsUnderByLimitAlone(double celsius, AlertRule rule) => celsius > LimitBeforeCelsius - rule.EasingKelvin;

    /// <summary>The same by a clock that was set back: every moment as long ago as it was.</summary>
    /// <param name="by">How far it was set back.</param>
    /// <returns>The memory by the clock as it is now.</returns>
    public AlertMemory Earlier(TimeSpan by) => this with
    {
        Since = Since - by,
        LastGoodAt = LastGoodAt - by,
        EasedSince = EasedSince - by,
        HeatSeenAt = HeatSeenAt - by,
        RisingAt = RisingAt - by,
        RisingToldAt = RisingToldAt - by,
        DoubtfulAt = DoubtfulAt - by,
        EstimateEasedSince = EstimateEasedSince - by,
        ForecastHotAt = ForecastHotAt - by,
        OverToldAt = OverToldAt - by,
        Recent = [.. Recent.Select(p => p with { At = p.At - by })],
        Cold = Cold?.Earlier(by),
        Ice = Ice?.Earlier(by),
    };

    /// <summary>The same by a clock that leapt ahead: what walkers were told is as long ago as it was. What was measured is not; a machine may have slept.</summary>
    /// <param name="by">How far it leapt.</param>
    /// <returns>The memory by the clock as it is now.</returns>
    public AlertMemory ToldLater(TimeSpan by) => this with
    {
        HeatSeenAt = Hot == HotEpisode.None ? HeatSeenAt : (HeatSeenAt ?? LastGoodAt ?? Since) + by,
        RisingToldAt = RisingToldAt + by,
        OverToldAt = OverToldAt + by,
        Cold = Cold?.ToldLater(by),
    };

    /// <inheritdoc />
    public bool Equals(AlertMemory? other) =>
        other is not null
        && (State, Since, LastGoodAt, LastGoodCelsius, HotReadings, EasedSince, Hot)
            == (other.State, other.Since, other.LastGoodAt, other.LastGoodCelsius, other.HotReadings, other.EasedSince, other.Hot)
        && (HeatSeenAt, RisingAt, RisingToldAt, DoubtfulHotReadings, DoubtfulAt, EstimateEasedSince)
            == (other.HeatSeenAt, other.RisingAt, other.RisingToldAt, other.DoubtfulHotReadings, other.DoubtfulAt, other.EstimateEasedSince)
        && (ExtremeReadings, ExtremeTold, RiseTold, FreezingReadings, FreezingTold)
            == (other.ExtremeReadings, other.ExtremeTold, other.RiseTold, other.FreezingReadings, other.FreezingTold)
        && (ForecastHotAt, OverToldAt, DoubtfulCelsius) == (other.ForecastHotAt, other.OverToldAt, other.DoubtfulCelsius)
        && (LimitCelsius, LimitBeforeCelsius) == (other.LimitCelsius, other.LimitBeforeCelsius)
        && Cold == other.Cold
        && Ice == other.Ice
        && Recent.SequenceEqual(other.Recent);

    /// <inheritdoc />
    public override int GetHashCode() => HashCode.Combine(State, Since, LastGoodAt, LastGoodCelsius, HotReadings, Hot);
}
