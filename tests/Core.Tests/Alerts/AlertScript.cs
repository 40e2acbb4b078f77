using System.Globalization;
using PavementWatch.Core.Alerts;
using PavementWatch.Core.Offsets;
using PavementWatch.Core.Readings;

namespace PavementWatch.Core.Tests.Alerts;

/// <summary>A day told as a script: <c>At("14:00", Surface(58))</c>, then <c>Expect(Told("14:01", …))</c>.</summary>
internal sealed class AlertScript(AlertRule? rule = null, bool cold = false)
{
    private static readonly DateTimeOffset Day = new(2026, 7, 15, 0, 0, 0, TimeSpan.Zero);
    private static readonly SpotId Spot = SpotId.Parse("north-gate-plaza");

    private AlertRule _rule = rule ?? new AlertRule();
    private readonly List<Change> _changes = [];

    public AlertMemory Memory { get; set; } = AlertMemory.Start(Clock("00:00"));

    public AlertDecision? Last { get; private set; }

    /// <summary>A moment of the day, or of a later one: <c>1.12:00</c> is noon of the next.</summary>
    public static DateTimeOffset Clock(string clock) => Day + TimeSpan.Parse(clock, CultureInfo.InvariantCulture);

    public static Func<DateTimeOffset, AlertInput> Surface(
        double? celsius, ReadingQuality quality = ReadingQuality.Good, string? measuredAt = null) =>
        now => new Measured(now, new Reading(Spot, measuredAt is null ? now : Clock(measuredAt))
        {
            SurfaceCelsius = celsius,
            Quality = quality,
            Doubt = quality == ReadingQuality.Good ? Doubt.None : Doubt.Disagrees,
        });

    public static Func<DateTimeOffset, AlertInput> Suspect(double celsius) => Surface(celsius, ReadingQuality.Suspect);

    public static Func<DateTimeOffset, AlertInput> Estimate(double celsius, double upper, double? in29Minutes = null, double? in31Minutes = null) =>
        now => new Estimated(
            now,
            new SurfaceEstimate(now, celsius, celsius - 3, upper),
            [
                .. in29Minutes is { } soon ? [new SurfaceEstimate(now.AddMinutes(29), soon, soon - 3, soon + 3)] : Array.Empty<SurfaceEstimate>(),
                .. in31Minutes is { } later ? [new SurfaceEstimate(now.AddMinutes(31), later, later - 3, later + 3)] : Array.Empty<SurfaceEstimate>(),
            ]);

    public static Func<DateTimeOffset, AlertInput> Nothing() => now => new Tick(now);

    public AlertScript At(string clock, Func<DateTimeOffset, AlertInput> input)
    {
        var step = cold ? AlertMachine.StepCold(Memory, input(Clock(clock)), _rule) : AlertMachine.Step(Memory, input(Clock(clock)), _rule);
        Memory = step.Memory;
        if (step.Decision is { } decision)
        {
            Last = decision;
            _changes.Add(new Change(clock, decision.From, decision.To, decision.Because, decision.Notify));
        }

        return this;
    }

    /// <summary>From here on by another rule.</summary>
    public AlertScript Under(AlertRule changed)
    {
        _rule = changed;
        return this;
    }

    /// <summary>The same each minute, both ends included.</summary>
    public AlertScript Each(string from, string to, Func<DateTimeOffset, AlertInput> input)
    {
        for (var at = Clock(from); at <= Clock(to); at = at.AddMinutes(1))
            At((at - Day).ToString(at - Day < TimeSpan.FromDays(1) ? @"hh\:mm" : @"d\.hh\:mm", CultureInfo.InvariantCulture), input);
        return this;
    }

    /// <summary>Exactly these changes since the last time it was asked, in this order.</summary>
    public AlertScript Expect(params Change[] changes)
    {
        Assert.Equal(changes, _changes);
        _changes.Clear();
        return this;
    }

    /// <summary>A change that is pushed to walkers.</summary>
    public static Change Told(string at, AlertState from, AlertState to, AlertReason because) => new(at, from, to, because, true);

    /// <summary>A change that is only recorded.</summary>
    public static Change Kept(string at, AlertState from, AlertState to, AlertReason because) => new(at, from, to, because, false);

    internal sealed record Change(string At, AlertState From, AlertState To, AlertReason Because, bool Told);
}
