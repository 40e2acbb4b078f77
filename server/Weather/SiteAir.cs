using PavementWatch.Core.Weather;

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
        _underWay = now.UtcTicks / StepTicks + 1;
        _steps = new Step[(int)(reach.Ticks / StepTicks) + 1];
    }

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

    /// <summary>What the site has in one step, and when the newest reading of it was taken.</summary>
    /// <param name="number">The step's end, in steps; of these days.</param>
    public (double? AirCelsius, double? HumidityPercent, DateTimeOffset Newest) Of(long number)
    {
        ref readonly var step = ref _steps[_underWay - number];
        return (step.Air.Value, step.Humidity.Value, step.Newest);
    }

    private struct Step
    {
        public RunningMean Air;
        public RunningMean Humidity;
        public DateTimeOffset Newest;
    }
}
