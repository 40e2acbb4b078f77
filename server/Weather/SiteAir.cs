using PavementWatch.Core.Weather;
using PavementWatch.Server.Store;

namespace PavementWatch.Server.Weather;

/// <summary>Air and humidity of one site over the last days, as means over its spots: for those that have none of their own.</summary>
internal sealed class SiteAir
{
    private static readonly long StepTicks = SpotWeather.Step.Ticks;

    private readonly long _underWay;
    private readonly Step[] _steps;

    /// <param name="now">UTC.</param>
    /// <param name="reach">How far back.</param>
    public SiteAir(DateTimeOffset now, TimeSpan reach)
    {
        _underWay = NumberOf(now) + (now.UtcTicks % StepTicks == 0 ? 1 : 0);
        _steps = new Step[(int)(reach.Ticks / StepTicks) + 1];
    }

    /// <summary>Whether a spot needs that of others: it lacks more than one step of it, which may be under way.</summary>
    /// <param name="own">Its own steps.</param>
    /// <param name="reach">How far back.</param>
    public static bool IsNeeded(IReadOnlyList<ReadingStep> own, TimeSpan reach) =>
        own.Count(s => s is { AirCelsius: not null, HumidityPercent: not null }) < reach.Ticks / StepTicks;

    /// <summary>Adds what a spot has in one step.</summary>
    /// <param name="number">The step's end, in steps; one that is not of these days is left out.</param>
    /// <param name="newest">When the newest reading of it was taken.</param>
    /// <param name="airCelsius">[°C] Its mean.</param>
    /// <param name="humidityPercent">[%] Its mean.</param>
    public void Add(long number, DateTimeOffset newest, double? airCelsius, double? humidityPercent)
    {
        var back = _underWay - number;
        if (back < 0 || back >= _steps.Length)
            return;
        ref var step = ref _steps[back];
        step.Air.Add(airCelsius);
        step.Humidity.Add(humidityPercent);
        if (newest > step.Newest)
            step.Newest = newest;
    }

    /// <summary>What the site has in the steps in which a spot lacks it, in time order.</summary>
    /// <param name="own">The spot's own steps.</param>
    public IReadOnlyList<ReadingStep> LentTo(IReadOnlyList<ReadingStep> own)
    {
        var mine = new ReadingStep?[_steps.Length];
        foreach (var step in own)
        {
            var back = _underWay - NumberOf(step.End);
            if (back >= 0 && back < mine.Length)
                mine[back] = step;
        }

        var lent = new List<ReadingStep>();
        for (var back = mine.Length - 1; back >= 0; back--)
        {
            var (air, humidity) = (_steps[back].Air.Value, _steps[back].Humidity.Value);
            if (mine[back] is { AirCelsius: not null } has ? has.HumidityPercent is not null || humidity is null : air is null)
                continue;
            // What the spot has of the step belongs to the same moment; the one under way ends with its newest reading.
            var end = mine[back]?.End ?? (back > 0 ? new DateTimeOffset((_underWay - back) * StepTicks, TimeSpan.Zero) : _steps[back].Newest);
            lent.Add(new ReadingStep(end, 1, 1) { AirCelsius = air, HumidityPercent = humidity });
        }

        return lent;
    }

    // A step holds its end.
    private static long NumberOf(DateTimeOffset moment) => (moment.UtcTicks - 1) / StepTicks + 1;

    private struct Step
    {
        public RunningMean Air;
        public RunningMean Humidity;
        public DateTimeOffset Newest;
    }
}
