using PavementWatch.Core.Weather;

namespace PavementWatch.Server.Weather;

/// <summary>Wind and sun of a place: what was observed, or is forecast after the last observation. Looked up once for the ends of the last days' steps, at which all its spots ask.</summary>
internal sealed class WindAndSun
{
    private static readonly long StepTicks = SpotWeather.Step.Ticks;

    private readonly PlaceWeather _place;
    private readonly long _first;
    private readonly (double? Wind, double? Sun)[] _steps;

    /// <param name="place">What is known of the place.</param>
    /// <param name="from">First moment.</param>
    /// <param name="now">Last moment.</param>
    public WindAndSun(PlaceWeather place, DateTimeOffset from, DateTimeOffset now)
    {
        _place = place;
        _first = from.UtcTicks / StepTicks;
        _steps = new (double?, double?)[now.UtcTicks / StepTicks - _first + 1];
        var walk = Along(place, hasForecast: true);
        for (var i = 0; i < _steps.Length; i++)
            _steps[i] = walk(new DateTimeOffset((_first + i) * StepTicks, TimeSpan.Zero));
    }

    /// <summary>At a moment.</summary>
    /// <param name="at">UTC.</param>
    /// <returns>[m/s] and [W/m²]; <c>null</c> where nothing is known.</returns>
    public (double? WindMetersPerSecond, double? SolarWattsPerSquareMeter) At(DateTimeOffset at)
    {
        var (number, rest) = Math.DivRem(at.UtcTicks, StepTicks);
        return rest == 0 && number >= _first && number - _first < _steps.Length ? _steps[number - _first] : Along(_place, hasForecast: true)(at);
    }

    /// <summary>The same without looking up anything before, for moments in time order.</summary>
    /// <param name="place">What is known of the place.</param>
    /// <param name="hasForecast">Whether a forecast counts.</param>
    /// <returns>Gives wind and sun at a moment.</returns>
    public static Func<DateTimeOffset, (double? WindMetersPerSecond, double? SolarWattsPerSquareMeter)> Along(PlaceWeather place, bool hasForecast)
    {
        var (wind, sun) = (new Known(place.Observed.Wind, place.Forecast.Wind, hasForecast), new Known(place.Observed.Solar, place.Forecast.Solar, hasForecast));
        return at => (wind.At(at), sun.At(at));
    }

    /// <summary>What was observed of a quantity, or is forecast after the last observation; of moments in time order.</summary>
    private sealed class Known(WeatherSeries observed, WeatherSeries forecast, bool hasForecast)
    {
        private readonly WeatherSeries.Walk _observed = observed.Along();
        private readonly WeatherSeries.Walk _forecast = forecast.Along();

        public double? At(DateTimeOffset at)
        {
            if (_observed.Over(at) is { } value)
                return value;
            return !hasForecast || (observed.Span is { } span && at <= span.Last) ? null : _forecast.Over(at);
        }
    }
}
