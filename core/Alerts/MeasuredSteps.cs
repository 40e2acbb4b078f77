using PavementWatch.Core.Offsets;

namespace PavementWatch.Core.Alerts;

/// <summary>What good readings and the forecast do to a spot that is measured.</summary>
internal static class MeasuredSteps
{
    /// <summary>A good reading, newer than the last one.</summary>
    public static AlertStep Good(
        AlertMemory before, DateTimeOffset at, double celsius, DateTimeOffset now, bool wasQuiet, AlertRule rule)
    {
        var hot = celsius >= rule.Threshold;
        var eased = celsius <= rule.EasedThreshold;
        var memory = before with
        {
            LastGoodAt = at,
            LastGoodCelsius = celsius,
            HotReadings = hot ? Math.Min(before.HotReadings + 1, rule.TooHotReadings) : 0,
            ExtremeReadings = celsius >= rule.ExtremeThreshold ? Math.Min(before.ExtremeReadings + 1, rule.TooHotReadings) : 0,
            FreezingReadings = celsius >= rule.FreezingThreshold ? Math.Min(before.FreezingReadings + 1, rule.TooHotReadings) : 0,
            EasedSince = eased ? before.EasedSince ?? at : null,
            EstimateEasedSince = null,
            LimitBeforeCelsius = hot ? null : before.LimitBeforeCelsius,
            HeatSeenAt = eased ? before.HeatSeenAt : at,
            Hot = hot && before.Hot == HotEpisode.Estimated ? HotEpisode.Measured : before.Hot,
            Recent = SurfaceTrend.With(before.Recent, new TrendPoint(at, celsius), rule),
        };

        // After a gap nobody saw, a spot that counts as measured is one that was silent.
        var state = wasQuiet ? AlertState.Silent : memory.State;
        var change = new Change(memory, now);
        change = state switch
        {
            AlertState.Silent => Back(change, celsius, hot, eased, rule),
            AlertState.TooHot when eased => Eases(change, celsius, rule),
            // It may have been told on another day, or by a machine whose memory was not kept.
            AlertState.TooHot when memory.HotReadings >= rule.TooHotReadings && !memory.StandsTold => TooHot(change, AlertReason.ReadingsOverLimit, celsius, rule),
            AlertState.TooHot => Graver(change, celsius, rule) ?? change,
            AlertState.Easing when hot => Graver(change, celsius, rule) ?? TooHot(change, AlertReason.OverLimitAgain, celsius, rule),
            AlertState.Easing when at - memory.EasedSince >= rule.ClearAfter && AllClear.MayBeTold(memory, celsius, now, rule) => Over(change, celsius, rule),
            AlertState.Easing => change,
            _ when memory.HotReadings >= rule.TooHotReadings => TooHot(change, AlertReason.ReadingsOverLimit, celsius, rule),
            _ => RisingOrClear(change, at, celsius, hot, rule),
        };
        return change.Told(rule);
    }

    /// <summary>The forecast, while good readings come in.</summary>
    public static AlertStep Forecast(AlertMemory memory, Estimated input, AlertRule rule)
    {
        memory = memory with { ForecastHotAt = AllClear.ForecastHotAt(input, rule) };
        var change = new Change(memory, input.Now);
        if (memory.State is not (AlertState.Clear or AlertState.Rising) || memory.HotReadings > 0)
            return change.Told(rule);

        var laggingKelvin = LaggingKelvin(memory, input.Current, rule);
        foreach (var ahead in input.Ahead)
        {
            if (ahead.At > input.Now && ahead.At - input.Now <= rule.RisingLead && ahead.WarningCelsius - laggingKelvin >= rule.Threshold)
                return Rising(change, AlertReason.ForecastReachesLimit, ahead.At, memory.LastGoodCelsius, rule).Told(rule);
        }

        return change.Told(rule);
    }

    /// <summary>[K] How far the forecast of the cold begins beyond what is measured: it lags behind ground that thaws fast, and would tell of frost on it. That of heat is taken as it is.</summary>
    private static double LaggingKelvin(AlertMemory memory, SurfaceEstimate current, AlertRule rule) =>
        rule.Side == AlertSide.Cold && current.WarningCelsius - memory.LastGoodCelsius is { } kelvin && kelvin > rule.EasingKelvin ? kelvin : 0;

    // After silence. A hot spell that walkers were told of goes on until it has eased for long enough.
    private static Change Back(Change change, double celsius, bool hot, bool eased, AlertRule rule)
    {
        var memory = change.Memory;
        var state = (memory.Hot, hot) switch
        {
            (HotEpisode.Estimated or HotEpisode.Measured, _) => eased ? AlertState.Easing : AlertState.TooHot,
            (HotEpisode.Lapsed, false) => AlertState.Easing,
            (_, false) => AlertState.Clear,
            _ when memory.HotReadings >= rule.TooHotReadings => AlertState.TooHot,
            _ => AlertState.Silent, // One hot reading alone says neither clear nor too hot.
        };
        if (state == AlertState.TooHot && !memory.StandsTold)
            return TooHot(change, AlertReason.ReadingsOverLimit, celsius, rule);
        if (state == AlertState.TooHot && Graver(change, celsius, rule) is { } graver)
            return graver;
        if (state == memory.State)
            return change;
        return state == AlertState.Silent
            ? change.To(state, AlertReason.NoGoodReading)
            : change.To(state, AlertReason.ReadingsBack, surfaceCelsius: celsius);
    }

    // What is told at a temperature that burns, or freezes, says so.
    private static Change TooHot(Change change, AlertReason because, double celsius, AlertRule rule) =>
        change.With(m => m with
        {
            Hot = HotEpisode.Measured,
            RisingAt = null,
            RiseTold = false,
            ExtremeTold = m.ExtremeTold || (!m.StandsTold && celsius >= rule.ExtremeThreshold),
            FreezingTold = m.FreezingTold || (!m.StandsTold && celsius >= rule.FreezingThreshold),
        })
            .To(AlertState.TooHot, because, notify: !change.Memory.StandsTold, celsius);

    // What burns, freezes or is bitter is told even where too hot, or too cold, stands told.
    private static Change? Graver(Change change, double celsius, AlertRule rule) => change.Memory switch
    {
        { StandsTold: true, ExtremeTold: false } known when known.ExtremeReadings >= rule.TooHotReadings =>
            change.With(m => m with { ExtremeTold = true, FreezingTold = true }).To(AlertState.TooHot, AlertReason.ReadingsExtreme, notify: true, celsius),
        { StandsTold: true, FreezingTold: false } known when known.FreezingReadings >= rule.TooHotReadings =>
            change.With(m => m with { FreezingTold = true }).To(AlertState.TooHot, AlertReason.ReadingsFreezing, notify: true, celsius),
        _ => null,
    };

    private static Change Eases(Change change, double celsius, AlertRule rule) =>
        change.Memory.IsUnderByLimitAlone(celsius, rule) ? change.To(AlertState.Easing, AlertReason.LimitRaised, surfaceCelsius: celsius)
        : AllClear.HotAgainAt(change.Memory, celsius, change.Now, rule) is { } hotAgainAt
            ? change.To(AlertState.Easing, AlertReason.UnderInCloud, surfaceCelsius: celsius, reachesAt: hotAgainAt)
        : change.To(AlertState.Easing, AlertReason.UnderByMargin, surfaceCelsius: celsius);

    // The next rise is news at once: whoever was told that it is over does not wait for it.
    private static Change Over(Change change, double celsius, AlertRule rule)
    {
        var because = change.Memory.IsUnderByLimitAlone(celsius, rule) ? AlertReason.UnderRaisedLimit : AlertReason.UnderLongEnough;
        return change.With(m => m with { Hot = HotEpisode.None, ExtremeTold = false, FreezingTold = false, EasedSince = null, RisingToldAt = null, OverToldAt = change.Now })
            .To(AlertState.Clear, because, notify: true, celsius)
            .With(m => m with { LimitBeforeCelsius = null });
    }

    private static Change RisingOrClear(Change change, DateTimeOffset at, double celsius, bool hot, AlertRule rule)
    {
        // At the limit already, the next reading decides; two pushes within a minute help nobody.
        if (hot)
            return change;
        if (SurfaceTrend.Reaches(change.Memory.Recent, rule) is { } reachesAt)
            return Rising(change, AlertReason.TrendReachesLimit, reachesAt, celsius, rule);

        var memory = change.Memory;
        if (memory.RisingAt is { } last && (change.Now - last).Duration() < rule.ClearAfter)
            return change;
        if (memory.RiseTold && at - memory.EasedSince >= rule.ClearAfter && AllClear.MayBeTold(memory, celsius, change.Now, rule))
            return AllClear.CallOffRise(change).To(AlertState.Clear, AlertReason.RiseCalledOff, notify: true, celsius);
        return memory.State == AlertState.Rising
            ? change.With(m => m with { RisingAt = null }).To(AlertState.Clear, AlertReason.RiseEnded, surfaceCelsius: celsius)
            : change;
    }

    private static Change Rising(
        Change change, AlertReason because, DateTimeOffset reachesAt, double? celsius, AlertRule rule)
    {
        var memory = change.Memory;
        // A straight line through the first minutes of sun says more than the sun can do. What comes after it is told when it is seen.
        if (AllClear.Covers(memory, reachesAt, rule))
            return change;
        var known = change.With(m => m with { RisingAt = change.Now });
        if (memory.State == AlertState.Rising)
            return known;

        // Told at a moment that lies ahead, it was told under a clock that has been set back since.
        var notify = !(memory.RisingToldAt is { } told && (change.Now - told).Duration() < rule.RisingQuiet);
        return known.With(m => m with { RisingToldAt = notify ? change.Now : m.RisingToldAt, RiseTold = m.RiseTold || notify })
            .To(AlertState.Rising, because, notify, celsius, reachesAt: reachesAt);
    }
}
