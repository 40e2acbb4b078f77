using PavementWatch.Core.Offsets;
using PavementWatch.Core.Places;
using PavementWatch.Core.Readings;

namespace PavementWatch.Core.Alerts;

/// <summary>The state machine of one spot: <c>Clear → Rising → TooHot → Easing → Clear</c>, with <c>Silent</c> beside.</summary>
/// <remarks>
/// <list type="bullet">
/// <item>Only good readings, taken within the silent span, move a spot between the measured states.</item>
/// <item>Readings in doubt never ease, clear or end silence; two of them over the limit while silent are told as too hot.</item>
/// <item>While silent the estimate's upper end rules. Falling silent is never an all-clear: what walkers were told stands.</item>
/// <item>That it is over is told only where neither forecast nor returning sun takes it to the limit for an hour, and not twice in two.</item>
/// <item>A rise that was told and does not come is called off by the same rules; it counts as an all-clear.</item>
/// <item>Late readings are history: they do what a tick does.</item>
/// <item>Walkers are told only what changes what they were told before; that it burns in seconds is told once even where too hot was, and that it freezes, or is bitter, even where too cold was.</item>
/// <item>Ground that is under its limit only because the limit was raised is said to be so.</item>
/// <item>What was told of a hot spell ends with the spot's local day; heat that goes on over midnight is the same spell.</item>
/// <item>So does a rise that was told; a night has two days, and what was told of the cold to come stands for half a day.</item>
/// </list>
/// </remarks>
public static class AlertMachine
{
    private const Doubt TooCool = Doubt.Disagrees | Doubt.Wet;

    // A night, from before midnight to the morning. Our choice.
    private static readonly TimeSpan ColdComesWithin = TimeSpan.FromHours(12);

    /// <summary>Takes one input.</summary>
    /// <param name="memory">What is remembered of the spot.</param>
    /// <param name="input">What happened.</param>
    /// <param name="rule">The spot's rule.</param>
    /// <returns>The new memory and the decision, if there was one.</returns>
    public static AlertStep Step(AlertMemory memory, AlertInput input, AlertRule rule)
    {
        ArgumentNullException.ThrowIfNull(memory);
        ArgumentNullException.ThrowIfNull(input);
        ArgumentNullException.ThrowIfNull(rule);

        if (HasExpired(memory, input.Now, rule))
            memory = memory with { Hot = HotEpisode.None, ExtremeTold = false, FreezingTold = false, LimitBeforeCelsius = null };
        if (memory.RiseTold && HasRiseExpired(memory.RisingToldAt, input.Now, rule))
            memory = memory with { RiseTold = false };
        memory = memory.ByLimit(rule.Threshold);

        // A long gap, or a clock set back, ends what counted on readings following each other.
        var quiet = IsQuiet(memory, input.Now, rule);
        if (quiet)
            memory = memory with { HotReadings = 0, ExtremeReadings = 0, FreezingReadings = 0, EasedSince = null, RisingAt = null, Recent = [] };
        if (IsStaleDoubt(memory, input.Now, rule))
            memory = memory with { DoubtfulHotReadings = 0, DoubtfulCelsius = null };

        switch (input)
        {
            case Measured { Reading: { SurfaceCelsius: { } celsius } reading } when IsLive(memory, reading, celsius, input.Now, rule):
                return reading.Quality == ReadingQuality.Good
                    ? MeasuredSteps.Good(memory, reading.MeasuredAt, celsius, input.Now, quiet, rule)
                    : SilentSteps.Doubtful(FallSilent(memory, input.Now, quiet), reading.MeasuredAt, celsius, input.Now, rule);
            case Estimated estimated when quiet || memory.State == AlertState.Silent:
                return SilentSteps.Estimate(FallSilent(memory, input.Now, quiet), estimated, rule);
            case Estimated estimated:
                return MeasuredSteps.Forecast(memory, estimated, rule);
            default:
                return FallSilent(memory, input.Now, quiet).Told(rule);
        }
    }

    /// <summary>Takes one input for the cold: the same machine with every temperature's sign turned over.</summary>
    /// <param name="memory">What is remembered of the spot; of it only <see cref="AlertMemory.Cold"/> and <see cref="AlertMemory.Ice"/> change.</param>
    /// <param name="input">What happened.</param>
    /// <param name="rule">The spot's rule.</param>
    /// <returns>The new memory and the decision, if there was one; its temperatures are true ones.</returns>
    public static AlertStep StepCold(AlertMemory memory, AlertInput input, AlertRule rule)
    {
        ArgumentNullException.ThrowIfNull(memory);
        ArgumentNullException.ThrowIfNull(input);
        ArgumentNullException.ThrowIfNull(rule);

        var ice = IceSteps.After(memory.Ice ?? new(), input, IsQuiet(memory, input.Now, rule), rule);
        var (turned, decision) = Step(
            TurnedOver(memory.Cold ?? AlertMemory.Start(input.Now)), TurnedOver(input, rule.ColdLimitCelsius), rule with { Side = AlertSide.Cold, Sun = null });
        return new AlertStep(
            memory with { Cold = TurnedOver(turned), Ice = ice },
            decision is null ? null : decision with
            {
                HasNoIce = !ice.MayBeIcy,
                SurfaceCelsius = -decision.SurfaceCelsius,
                UpperCelsius = -decision.UpperCelsius,
                LimitBeforeCelsius = -decision.LimitBeforeCelsius,
            });
    }

    private static AlertMemory TurnedOver(AlertMemory memory) => memory with
    {
        LastGoodCelsius = -memory.LastGoodCelsius,
        DoubtfulCelsius = -memory.DoubtfulCelsius,
        LimitCelsius = -memory.LimitCelsius,
        LimitBeforeCelsius = -memory.LimitBeforeCelsius,
        Recent = [.. memory.Recent.Select(p => p with { SurfaceCelsius = -p.SurfaceCelsius })],
    };

    /// <summary>Whether a reading that is doubted for being too cool warns of the cold all the same; not as the fall of a surface that is far from it.</summary>
    /// <param name="reading">The reading.</param>
    /// <param name="coldLimitCelsius">[°C] From here down it is too cold.</param>
    public static bool IsBelievedCold(Reading reading, double coldLimitCelsius)
    {
        ArgumentNullException.ThrowIfNull(reading);
        return reading.Quality == ReadingQuality.Suspect && reading.SurfaceCelsius <= coldLimitCelsius
            && (reading.Doubt & TooCool) != Doubt.None && (reading.Doubt & ~(TooCool | Doubt.Spike)) == Doubt.None;
    }

    private static AlertInput TurnedOver(AlertInput input, double coldLimitCelsius) => input switch
    {
        Measured measured => measured with { Reading = BelievedCold(measured.Reading, coldLimitCelsius) with { SurfaceCelsius = -measured.Reading.SurfaceCelsius } },
        // The sun that comes back is no threat of cold.
        Estimated estimated => estimated with { Current = TurnedOver(estimated.Current), Ahead = [.. estimated.Ahead.Select(TurnedOver)], SunBack = [] },
        _ => input,
    };

    private static Reading BelievedCold(Reading reading, double coldLimitCelsius) =>
        IsBelievedCold(reading, coldLimitCelsius) ? reading with { Quality = ReadingQuality.Good, Doubt = Doubt.None } : reading;

    // A lean to the warm side is no warning of cold.
    private static SurfaceEstimate TurnedOver(SurfaceEstimate estimate) =>
        new(estimate.At, -estimate.SurfaceCelsius, -estimate.UpperCelsius, -estimate.LowerCelsius);

    private static bool IsQuiet(AlertMemory memory, DateTimeOffset now, AlertRule rule) =>
        memory.LastGoodAt is not { } last || (now - last).Duration() >= rule.SilentAfter;

    // An earlier edition did not note when heat was seen. On a day that is still to come it was seen by a clock set back since.
    private static bool HasExpired(AlertMemory memory, DateTimeOffset now, AlertRule rule) =>
        memory.Hot != HotEpisode.None
        && (memory.HeatSeenAt ?? memory.LastGoodAt ?? memory.Since) is var seen
        && (now - seen).Duration() >= rule.SpellBreak
        && LocalDay.Of(rule.Zone, seen) != LocalDay.Of(rule.Zone, now);

    private static bool HasRiseExpired(DateTimeOffset? toldAt, DateTimeOffset now, AlertRule rule) =>
        toldAt is not { } told
        || (rule.Side == AlertSide.Cold ? (now - told).Duration() >= ColdComesWithin : LocalDay.Of(rule.Zone, told) != LocalDay.Of(rule.Zone, now));

    private static bool IsStaleDoubt(AlertMemory memory, DateTimeOffset now, AlertRule rule) =>
        memory.DoubtfulAt is { } last && (now - last).Duration() >= rule.SilentAfter;

    private static bool IsLive(
        AlertMemory memory, Reading reading, double celsius, DateTimeOffset now, AlertRule rule)
    {
        var newest = reading.Quality == ReadingQuality.Good ? memory.LastGoodAt : memory.DoubtfulAt;
        if (newest - now > rule.Interval)
            newest = null; // The clock was set back; what stands ahead of it orders nothing.
        return double.IsFinite(celsius)
            && reading.Quality != ReadingQuality.Rejected
            && rule.IsCurrent(reading.MeasuredAt, now)
            && !(reading.MeasuredAt <= newest);
    }

    private static Change FallSilent(AlertMemory memory, DateTimeOffset now, bool quiet) =>
        quiet && memory.State != AlertState.Silent
            ? new Change(memory, now).To(AlertState.Silent, AlertReason.NoGoodReading)
            : new Change(memory, now);
}
