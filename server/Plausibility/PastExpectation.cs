using PavementWatch.Core.Offsets;
using PavementWatch.Core.Readings;
using PavementWatch.Core.Sun;
using PavementWatch.Core.Surfaces;
using PavementWatch.Core.Weather;
using PavementWatch.Server.Store;

namespace PavementWatch.Server.Plausibility;

/// <summary>What a spot was to be expected while its backlog was measured, which brings the air that belongs to it; for one thread at a time.</summary>
/// <param name="spot">The spot.</param>
/// <param name="weather">Up to now, in time order; of the time of the backlog what a station or a neighbour says.</param>
/// <param name="estimate">The ground at a moment as if its sensor were dark.</param>
internal sealed class PastExpectation(Spot spot, IEnumerable<WeatherSample> weather, Func<SpotWeather, DateTimeOffset, SurfaceEstimate> estimate)
{
    // As long as the air of a step, and no longer than what is expected now holds.
    private static readonly TimeSpan Holds = TimeSpan.FromMinutes(5);

    private readonly List<WeatherSample> _samples = [.. weather];
    private (SurfaceEstimate? Surface, double? SunFraction, DateTimeOffset At)? _last;

    /// <summary>What was expected when a reading was made; those asked for come in time order.</summary>
    public (SurfaceEstimate? Surface, double? SunFraction) At(Reading reading)
    {
        var at = reading.MeasuredAt;
        Take(reading);
        if (_last is not { } last || at - last.At >= Holds)
        {
            var dark = estimate(SpotWeather.Past(_samples), at);
            _last = last = (double.IsFinite(dark.UpperCelsius) ? dark : null, SunFractionAt(at), at);
        }

        return (last.Surface, last.SunFraction);
    }

    private void Take(Reading reading)
    {
        if (reading.AirCelsius is not { } air)
            return;
        var end = DateTimeOffset.FromUnixTimeMilliseconds(
            ReadingSteps.EndMilliseconds(reading.MeasuredAt.ToUnixTimeMilliseconds(), ReadingSteps.StepMilliseconds(SpotWeather.Step)));
        var next = WeatherSample.FirstAfter(_samples, end);
        if (next > 0 && _samples[next - 1].At == end)
            _samples[next - 1] = _samples[next - 1] with { AirCelsius = air, HumidityPercent = reading.HumidityPercent };
        else
            _samples.Insert(next, new WeatherSample(end, air) { HumidityPercent = reading.HumidityPercent });
    }

    private double? SunFractionAt(DateTimeOffset at)
    {
        var clear = ClearSky.GlobalWattsPerSquareMeter(SolarPosition.At(at, spot.LatitudeDegrees, spot.LongitudeDegrees).ElevationDegrees);
        var next = WeatherSample.FirstAfter(_samples, at.AddTicks(-1));
        return clear > 0 && next < _samples.Count && _samples[next].At - at < SpotWeather.Step ? _samples[next].SolarWattsPerSquareMeter / clear : null;
    }
}
