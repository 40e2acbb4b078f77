using CsCheck;
using PavementWatch.Core.Alerts;
using PavementWatch.Core.Offsets;
using PavementWatch.Core.Quantities;
using PavementWatch.Core.Readings;

namespace PavementWatch.Core.Tests.Alerts;

/// <summary>What holds on every day, whatever comes in and in whatever order.</summary>
public class AlertProperties
{
    private static readonly double[] Marks = [30, 46.9, 47, 47.1, 48.9, 49, 49.1, 60];
    private static readonly AlertRule Rule = new();
    private static readonly DateTimeOffset Day = new(2026, 7, 15, 9, 0, 0, TimeSpan.Zero);
    private static readonly SpotId Spot = SpotId.Parse("quarry-steps");

    /// <summary>Days of inputs in time order, gathered around the limit, with gaps, doubt, backlog and estimates.</summary>
    internal static Gen<AlertInput[]> Days { get; } = MakeDays();

    [Fact]
    public void Clear_comes_only_from_a_good_live_reading_under_the_limit() =>
        OnEveryDay(day => Run(day, (before, input, step) =>
        {
            if (step.Decision is not { To: AlertState.Clear } decision)
                return;
            var reading = Assert.IsType<Measured>(input).Reading;
            Assert.Equal(ReadingQuality.Good, reading.Quality);
            Assert.True(reading.SurfaceCelsius < Rule.LimitCelsius);
            Assert.True(input.Now - reading.MeasuredAt < Rule.SilentAfter);
            if (before.Hot != HotEpisode.None && !IsOfAnEarlierDay(before, input))
                Assert.True(reading.SurfaceCelsius <= Rule.EasedCelsius);
        }));

    [Fact]
    public void Silence_is_never_an_all_clear() =>
        OnEveryDay(day => Run(day, (before, input, step) =>
        {
            // What was told on measurements is called off by measurements; ticks call off nothing.
            if (step.Decision is { IsOver: true, Notify: true } decision)
            {
                Assert.False(input is Tick);
                if (before.Hot is HotEpisode.Measured or HotEpisode.Lapsed)
                    Assert.Equal(AlertReason.UnderLongEnough, decision.Because);
            }

            if (input is Tick && step.Decision is { } fallen)
                Assert.Equal((AlertState.Silent, false), (fallen.To, fallen.Notify));
            if (input is Tick)
                Assert.Equal(IsOfAnEarlierDay(before, input) ? HotEpisode.None : before.Hot, step.Memory.Hot);
        }));

    [Fact]
    public void A_suspect_reading_never_clears_and_never_eases() =>
        OnEveryDay(day => Run(day, (before, input, step) =>
        {
            if (input is not Measured { Reading.Quality: not ReadingQuality.Good })
                return;
            Assert.Equal(before.EasedSince is null, (step.Memory.EasedSince ?? before.EasedSince) is null);
            Assert.True(step.Decision is null or { To: AlertState.Silent });
            Assert.True(
                step.Memory.Hot == before.Hot || step.Memory.Hot == HotEpisode.Estimated
                || (step.Memory.Hot == HotEpisode.None && IsOfAnEarlierDay(before, input)));
        }));

    [Fact]
    public void Suspect_readings_left_out_change_no_all_clear() =>
        OnEveryDay(day =>
        {
            var with = Decisions(day);
            var without = Decisions([.. day.Where(i => i is not Measured { Reading.Quality: ReadingQuality.Suspect })])
                .Where(d => d.Because == AlertReason.UnderLongEnough).Select(d => d.At).ToHashSet();
            // A doubtful hot spell may have been called off before, by the estimate; but nobody still stands warned when the
            // good readings alone would have told them that it is over.
            Assert.All(without, at => Assert.True(
                with.LastOrDefault(d => d.At <= at && (d.Notify || d.IsOver) && d.To != AlertState.Rising) is null or { IsOver: true }
                || with.Any(d => d is { IsOver: true, Notify: true } && d.At <= at && at - d.At < Rule.AllClearQuiet),
                $"still warned at {at:HH:mm:ss}"));
        });

    [Fact]
    public void A_backlog_does_what_a_tick_does() =>
        OnEveryDay(day => Run(day, (before, input, step) =>
        {
            if (input is Measured { Reading: var reading } && input.Now - reading.MeasuredAt >= Rule.SilentAfter)
                Assert.Equal(AlertMachine.Step(before, new Tick(input.Now), Rule), step);
        }));

    [Fact]
    public void Nobody_is_told_the_same_twice() =>
        OnEveryDay(day =>
        {
            AlertDecision? standing = null;
            AlertDecision? extreme = null;
            foreach (var decision in Decisions(day).Where(d => d.Notify || d.Because == AlertReason.EstimateUnderLongEnough))
            {
                if (decision.IsOver)
                {
                    (standing, extreme) = (null, null);
                }
                else if (decision.Because is AlertReason.ReadingsExtreme or AlertReason.EstimateExtreme)
                {
                    Assert.True(standing is not null, "that it burns is told beyond too hot");
                    Assert.True(extreme is null || extreme.At.Date < decision.At.Date, $"told at {extreme?.At:O} and again at {decision.At:O}");
                    extreme = decision;
                }
                else if (decision.To != AlertState.Rising)
                {
                    Assert.True(standing is null || standing.At.Date < decision.At.Date, $"told at {standing?.At:O} and again at {decision.At:O}");
                    standing = decision;
                }
            }
        });

    [Fact]
    public void No_spot_is_called_off_twice_in_two_hours() =>
        OnEveryDay(day =>
        {
            var over = Decisions(day).Where(d => d is { IsOver: true, Notify: true }).Select(d => d.At).ToList();
            Assert.All(over.Zip(over.Skip(1)), two => Assert.True(two.Second - two.First >= Rule.AllClearQuiet, $"at {two.First:O} and {two.Second:O}"));
        });

    [Fact]
    public void Within_an_hour_of_a_rise_another_is_told_only_after_an_all_clear() =>
        OnEveryDay(day =>
        {
            DateTimeOffset? rise = null;
            foreach (var decision in Decisions(day).Where(d => d.Notify && (d.IsOver || d.To == AlertState.Rising)))
            {
                Assert.True(decision.IsOver || !(decision.At - rise < Rule.RisingQuiet), $"told at {rise:O} and again at {decision.At:O}");
                rise = decision.IsOver ? null : decision.At;
            }
        });

    [Fact]
    public void A_rise_is_called_off_only_where_it_was_told_that_day_and_has_not_come() =>
        OnEveryDay(day =>
        {
            AlertDecision? rise = null;
            foreach (var decision in Decisions(day).Where(d => d.Notify))
            {
                if (decision.Because == AlertReason.RiseCalledOff)
                    Assert.True(rise?.At.Date == decision.At.Date, $"called off at {decision.At:O}, told at {rise?.At:O}");
                rise = decision.To == AlertState.Rising ? decision : null;
            }
        });

    [Fact]
    public void Two_good_readings_at_the_limit_are_always_told_or_stand_told() =>
        OnEveryDay(day => Run(day, (_, _, step) =>
        {
            if (step.Memory.HotReadings >= Rule.TooHotReadings)
                Assert.Equal((AlertState.TooHot, HotEpisode.Measured), (step.Memory.State, step.Memory.Hot));
        }));

    [Fact]
    public void Two_good_readings_that_burn_are_always_told_as_such() =>
        OnEveryDay(day => Run(day, (_, _, step) =>
        {
            if (step.Memory.ExtremeReadings >= Rule.TooHotReadings && step.Memory.State == AlertState.TooHot)
                Assert.True(step.Memory.ExtremeTold);
        }));

    [Fact]
    public void The_cold_is_the_heat_turned_over() =>
        OnEveryDay(day =>
        {
            var memory = AlertMemory.Start(Day);
            var cold = new List<AlertDecision>();
            var same = new List<AlertInput>();
            foreach (var input in day)
            {
                // Of the cold alone, a forecast that begins beyond what is measured is not taken as it is.
                var turned = TurnedOver(input);
                var lags = turned is Estimated { Current: var current } && memory.Cold?.LastGoodCelsius - current.WarningCelsius > Rule.EasingKelvin;
                same.Add(lags ? (Estimated)input with { Ahead = [] } : input);
                var step = AlertMachine.StepCold(memory, lags ? (Estimated)turned with { Ahead = [] } : turned, Rule);
                memory = step.Memory;
                if (step.Decision is { } decision)
                    cold.Add(decision);
            }

            static IEnumerable<(DateTimeOffset, AlertState, AlertState, AlertReason, bool)> Told(IEnumerable<AlertDecision> all) =>
                all.Select(d => (d.At, d.From, d.To, d.Because, d.Notify));
            // Bitter lies 10 K under freezing, burning as far over this limit.
            Assert.Equal(Told(Decisions([.. same.Select(i => Warmer(i, -3))], Rule with { LimitCelsius = 46 })), Told(cold));
            Assert.All(cold, d => Assert.Equal((AlertSide.Cold, 0.0), (d.Side, d.LimitCelsius)));
            Assert.Equal(AlertMemory.Start(Day) with { Cold = memory.Cold, Ice = memory.Ice }, memory);
        });

    [Fact]
    public void Whatever_the_cold_limit_two_good_readings_that_freeze_or_are_bitter_are_always_told_as_such() =>
        Gen.Select(Days, Gen.Double[QuantityRanges.ColdLimit.Least, QuantityRanges.ColdLimit.Most]).Sample(
            t =>
            {
                var (memory, rule) = (AlertMemory.Start(Day), Rule with { ColdLimitCelsius = t.Item2 });
                foreach (var input in t.Item1.Select(TurnedOver))
                {
                    memory = AlertMachine.StepCold(memory, input, rule).Memory;
                    if (memory.Cold!.FreezingReadings >= rule.TooHotReadings)
                        Assert.True(memory.Cold is { State: AlertState.TooHot, StandsTold: true, FreezingTold: true }, $"freezes untold by a limit of {t.Item2} °C: {memory.Cold}");
                    if (memory.Cold.ExtremeReadings >= rule.TooHotReadings)
                        Assert.True(memory.Cold.ExtremeTold, $"is bitter untold by a limit of {t.Item2} °C: {memory.Cold}");
                }
            },
            iter: 1000);

    // 0 °C for 49 °C, and as far under it as the other is over.
    private static AlertInput TurnedOver(AlertInput input) => input switch
    {
        Measured measured => measured with { Reading = measured.Reading with { SurfaceCelsius = 49 - measured.Reading.SurfaceCelsius } },
        Estimated estimated => estimated with { Current = TurnedOver(estimated.Current), Ahead = [.. estimated.Ahead.Select(TurnedOver)] },
        _ => input,
    };

    private static SurfaceEstimate TurnedOver(SurfaceEstimate estimate) =>
        new(estimate.At, 49 - estimate.SurfaceCelsius, 49 - estimate.UpperCelsius, 49 - estimate.LowerCelsius);

    private static AlertInput Warmer(AlertInput input, double kelvin) => input switch
    {
        Measured measured => measured with { Reading = measured.Reading with { SurfaceCelsius = measured.Reading.SurfaceCelsius + kelvin } },
        Estimated estimated => estimated with { Current = Warmer(estimated.Current, kelvin), Ahead = [.. estimated.Ahead.Select(e => Warmer(e, kelvin))] },
        _ => input,
    };

    private static SurfaceEstimate Warmer(SurfaceEstimate estimate, double kelvin) =>
        new(estimate.At, estimate.SurfaceCelsius + kelvin, estimate.LowerCelsius + kelvin, estimate.UpperCelsius + kelvin);

    // UTC days, as the rule has it unless set.
    private static bool IsOfAnEarlierDay(AlertMemory memory, AlertInput input) =>
        memory.HeatSeenAt is { } seen && seen.Date < input.Now.Date && input.Now - seen >= Rule.SpellBreak;

    private static void OnEveryDay(Action<AlertInput[]> check) => Days.Sample(check, iter: 1000);

    private static void Run(AlertInput[] day, Action<AlertMemory, AlertInput, AlertStep> check, AlertRule? rule = null)
    {
        var memory = AlertMemory.Start(Day);
        foreach (var input in day)
        {
            var step = AlertMachine.Step(memory, input, rule ?? Rule);
            check(memory, input, step);
            memory = step.Memory;
        }
    }

    private static List<AlertDecision> Decisions(AlertInput[] day, AlertRule? rule = null)
    {
        var decisions = new List<AlertDecision>();
        Run(
            day,
            (_, _, step) =>
            {
                if (step.Decision is { } decision)
                    decisions.Add(decision);
            },
            rule);
        return decisions;
    }

    private static Gen<AlertInput[]> MakeDays()
    {
        // Runs of like inputs, so that spans of ten minutes fill up.
        var celsius = Gen.OneOf(Gen.Int[0, Marks.Length - 1].Select(i => Marks[i]), Gen.Double[25, 75]);
        var gap = Gen.Frequency((12, Gen.Const(60)), (2, Gen.Const(10)), (1, Gen.Int[120, 1800]));
        var quality = Gen.Frequency((6, Gen.Const(ReadingQuality.Good)), (2, Gen.Const(ReadingQuality.Suspect)), (1, Gen.Const(ReadingQuality.Rejected)));
        var lateSeconds = Gen.Frequency((8, Gen.Int[0, 5]), (1, Gen.Int[0, 4000]), (1, Gen.Int[-120, 0]));
        Gen<Func<DateTimeOffset, AlertInput>> measured = Gen.Select(celsius, quality, lateSeconds)
            .Select(t => (Func<DateTimeOffset, AlertInput>)(now => new Measured(now, new Reading(Spot, now.AddSeconds(-t.Item3))
            {
                SurfaceCelsius = t.Item1,
                Quality = t.Item2,
            })));
        Gen<Func<DateTimeOffset, AlertInput>> estimated = Gen.Select(celsius, celsius, Gen.Double[0, 5])
            .Select(t => (Func<DateTimeOffset, AlertInput>)(now => new Estimated(
                now,
                new SurfaceEstimate(now, t.Item1, t.Item1 - t.Item3, t.Item1 + t.Item3),
                [new SurfaceEstimate(now.AddMinutes(20), t.Item2, t.Item2 - t.Item3, t.Item2 + t.Item3)])));
        var tick = Gen.Const((Func<DateTimeOffset, AlertInput>)(now => new Tick(now)));
        var run = Gen.Select(Gen.Frequency((6, measured), (3, estimated), (1, tick)), Gen.Int[1, 14], gap);
        return run.Array[1, 25].Select(runs =>
        {
            var inputs = new List<AlertInput>();
            var now = Day;
            foreach (var (make, count, seconds) in runs)
            {
                for (var i = 0; i < count; i++)
                {
                    now = now.AddSeconds(seconds);
                    inputs.Add(make(now));
                }
            }

            return inputs.ToArray();
        });
    }
}
