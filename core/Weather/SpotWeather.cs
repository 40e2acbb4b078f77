using PavementWatch.Core.Sun;
using PavementWatch.Core.Surfaces;

namespace PavementWatch.Core.Weather;

/// <summary>Weather at a spot up to now and, where there is a forecast, on.</summary>
/// <param name="Samples">In time order.</param>
/// <param name="KnownUntil">Time of the last sample that was measured or observed, UTC; <c>null</c> when none was.</param>
/// <param name="Forecast">Ends of the steps that a forecast spoke of, with its issue, in time order; UTC.</param>
public sealed record SpotWeather(
    IReadOnlyList<WeatherSample> Samples, DateTimeOffset? KnownUntil, IReadOnlyList<(DateTimeOffset End, DateTimeOffset IssuedAt)> Forecast)
{
    private static readonly TimeSpan AirHolds = TimeSpan.FromHours(1);

    /// <summary>The sun over the spot as it was looked at before; <c>null</c> where nobody keeps it. It changes no answer.</summary>
    public SunPath? Sun { get; init; }

    /// <summary>Spacing of the samples: 10 min.</summary>
    public static TimeSpan Step { get; } = TimeSpan.FromMinutes(10);

    /// <summary>Weather of a time that is over.</summary>
    /// <param name="samples">In time order.</param>
    /// <returns>It, all of it known.</returns>
    public static SpotWeather Past(IReadOnlyList<WeatherSample> samples)
    {
        ArgumentNullException.ThrowIfNull(samples);
        return new SpotWeather(samples, samples.Count > 0 ? samples[^1].At : null, []);
    }

    /// <summary>The same weather as if the surface had not been seen.</summary>
    public SpotWeather Dark => this with { Samples = [.. Samples.Select(s => s with { SurfaceCelsius = null })] };

    /// <summary>The same weather with a cloudless sky from a moment on, where sun is among what is known. Where nothing says what the air will be, it stays as it is.</summary>
    /// <param name="spot">Where.</param>
    /// <param name="from">From then on, UTC.</param>
    /// <param name="until">So far ahead, UTC.</param>
    /// <returns>The weather itself where no sun is known.</returns>
    public SpotWeather WithClearSky(Spot spot, DateTimeOffset from, DateTimeOffset until)
    {
        ArgumentNullException.ThrowIfNull(spot);
        if (Samples.All(s => s.SolarWattsPerSquareMeter is null))
            return this;
        List<WeatherSample> samples = [.. Samples.Select(s => s.At <= from ? s : Lit(s, spot))];
        while (samples[^1].At < until)
            samples.Add(Lit(samples[^1] with { At = samples[^1].At + Step, SurfaceCelsius = null }, spot));
        return this with { Samples = samples };
    }

    /// <summary>The newest air not later than a moment and not older than an hour.</summary>
    /// <param name="moment">UTC.</param>
    /// <returns>[°C] The air; <c>null</c> when there is none.</returns>
    public double? AirAt(DateTimeOffset moment)
    {
        for (var i = Samples.Count - 1; i >= 0; i--)
        {
            if (Samples[i].At <= moment)
                return moment - Samples[i].At < AirHolds ? Samples[i].AirCelsius : null;
        }

        return null;
    }

    /// <summary>Where the air of a moment is from.</summary>
    /// <param name="moment">UTC.</param>
    /// <returns>Measured up to a step after the last known sample.</returns>
    public AirOrigin OriginAt(DateTimeOffset moment)
    {
        if (moment <= KnownUntil + Step)
            return AirOrigin.Measured;
        return Forecast.Any(f => f.End >= moment && f.End - Step < moment) ? AirOrigin.Forecast : AirOrigin.Repeated;
    }

    private static WeatherSample Lit(WeatherSample sample, Spot spot) => sample with
    {
        SolarWattsPerSquareMeter = ClearSky.GlobalWattsPerSquareMeter(
            SolarPosition.At(sample.At - (Step / 2), spot.LatitudeDegrees, spot.LongitudeDegrees).ElevationDegrees),
    };
}
