namespace PavementWatch.Core.Alerts;

/// <summary>What readings in doubt and the estimate do, above all to a spot that is silent.</summary>
internal static class SilentSteps
{
    /// <summary>A reading in doubt. It can only speak for heat, and only where no good reading does.</summary>
    public static AlertStep Doubtful(Change change, DateTimeOffset at, double celsius, DateTimeOffset now, AlertRule rule)
    {
        var hot = celsius >= rule.Threshold;
        change = change.With(m => m with
        {
            DoubtfulAt = at,
            DoubtfulCelsius = celsius,
            DoubtfulHotReadings = hot ? Math.Min(m.DoubtfulHotReadings + 1, rule.TooHotReadings) : 0,
            EstimateEasedSince = celsius > rule.EasedThreshold ? null : m.EstimateEasedSince,
        });

        var goodIsOld = change.Memory.LastGoodAt is not { } good || (now - good).Duration() >= rule.SilentAfter;
        if (goodIsOld && celsius > rule.EasedThreshold)
            change = change.With(m => m with { HeatSeenAt = at });
        var memory = change.Memory;
        if (memory.State == AlertState.Silent && goodIsOld && !memory.StandsTold
            && memory.DoubtfulHotReadings >= rule.TooHotReadings)
        {
            change = change.With(m => m with { Hot = HotEpisode.Estimated, RiseTold = false, ExtremeTold = celsius >= rule.ExtremeThreshold, FreezingTold = celsius >= rule.FreezingThreshold })
                .To(AlertState.Silent, AlertReason.DoubtfulOverLimit, notify: true, celsius);
        }

        return change.Told(rule);
    }

    /// <summary>The estimate, while the spot is silent: its upper end rules. What is over is told by a hotter reading in doubt, which may be right.</summary>
    public static AlertStep Estimate(Change change, Estimated input, AlertRule rule)
    {
        var (_, celsius, _, upper) = input.Current;
        var eased = upper <= rule.EasedThreshold && change.Memory.DoubtfulHotReadings == 0;
        change = change.With(m => m with
        {
            EstimateEasedSince = eased ? m.EstimateEasedSince ?? input.Now : null,
            HeatSeenAt = upper > rule.EasedThreshold ? input.Now : m.HeatSeenAt,
            ForecastHotAt = AllClear.ForecastHotAt(input, rule),
        });

        var memory = change.Memory;
        var most = Math.Max(upper, memory.DoubtfulCelsius ?? upper);
        if (upper >= rule.Threshold && !memory.StandsTold)
        {
            change = change.With(m => m with { Hot = HotEpisode.Estimated, RiseTold = false, ExtremeTold = upper >= rule.ExtremeThreshold, FreezingTold = upper >= rule.FreezingThreshold })
                .To(AlertState.Silent, AlertReason.EstimateOverLimit, notify: true, celsius, upper);
        }
        else if (upper >= rule.ExtremeThreshold && memory is { StandsTold: true, ExtremeTold: false })
        {
            change = change.With(m => m with { ExtremeTold = true, FreezingTold = m.FreezingTold || upper >= rule.FreezingThreshold })
                .To(AlertState.Silent, AlertReason.EstimateExtreme, notify: true, celsius, upper);
        }
        else if (upper >= rule.FreezingThreshold && memory is { StandsTold: true, FreezingTold: false })
        {
            change = change.With(m => m with { FreezingTold = true })
                .To(AlertState.Silent, AlertReason.EstimateFreezing, notify: true, celsius, upper);
        }
        else if (memory.RiseTold && input.Now - memory.EstimateEasedSince >= rule.ClearAfter && AllClear.MayBeTold(memory, most, input.Now, rule))
        {
            // It was told of a forecast, or of a line; another forecast may take it back.
            change = AllClear.CallOffRise(change).To(AlertState.Silent, AlertReason.RiseCalledOff, notify: true, celsius, most);
        }
        else if (memory.StandsTold && input.Now - memory.EstimateEasedSince >= rule.ClearAfter
            && AllClear.MayBeTold(memory, most, input.Now, rule))
        {
            // What was measured hot is not called off by an estimate, nor is a spot that was never measured; but the next hot
            // spell is news again.
            var called = memory is { Hot: HotEpisode.Estimated, LastGoodAt: not null };
            change = change.With(m => m with { Hot = called ? HotEpisode.None : HotEpisode.Lapsed, ExtremeTold = false, FreezingTold = false, EstimateEasedSince = null, RisingToldAt = called ? null : m.RisingToldAt, OverToldAt = called ? input.Now : m.OverToldAt })
                .To(AlertState.Silent, memory.IsUnderByLimitAlone(most, rule) ? AlertReason.UnderRaisedLimit : AlertReason.EstimateUnderLongEnough, notify: called, celsius, most)
                .With(m => m with { LimitBeforeCelsius = called ? null : m.LimitBeforeCelsius });
        }

        return change.Told(rule);
    }
}
