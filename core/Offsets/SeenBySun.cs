using PavementWatch.Core.Weather;

namespace PavementWatch.Core.Offsets;

/// <summary>Holds weather inside what a fit has seen while the sun stood as high; where it saw nothing then, inside what it saw of the next class.</summary>
internal sealed class SeenBySun
{
    // So much of what was seen a line may be drawn on: without it the open files' damp days come out a little worse. Our choice.
    private const double SlackFraction = 0.25;

    private static readonly SeenWeather Nothing = new();

    private readonly SeenWeather[] _ranges = new SeenWeather[SunHeight.Classes];

    /// <param name="seen">One for each class of <see cref="SunHeight"/>.</param>
    public SeenBySun(IReadOnlyList<SeenWeather> seen)
    {
        for (var own = 0; own < _ranges.Length; own++)
            _ranges[own] = Nearest(seen, own);
    }

    /// <summary>The same with a humidity that was seen, or nearly; nothing physical says what more or less of it does.</summary>
    /// <returns>The grid itself where nothing lies beyond.</returns>
    public WeatherGrid WithHumidity(WeatherGrid grid)
    {
        double[]? vapour = null;
        for (var i = 0; i < grid.Count; i++)
        {
            var humidity = SeenWeather.HumidityAt(grid, i);
            // What is inside stays as it was to the last bit.
            if (At(grid, i).HumidityPercent?.Wider(SlackFraction) is { } seen && seen.Beyond(humidity) > 0)
                (vapour ??= [.. grid.Vapour])[i] = seen.Clamp(humidity) / 100 * VapourPressure.SaturationKilopascals(grid.Air[i]);
        }

        return vapour is null ? grid : grid.With(grid.Air, vapour, grid.Wind, grid.Solar);
    }

    /// <summary>The same at the edge of what was seen wherever air, humidity, wind or sun lie beyond.</summary>
    public WeatherGrid WithAll(WeatherGrid grid)
    {
        double[] air = [.. grid.Air], vapour = [.. grid.Vapour], wind = [.. grid.Wind], solar = [.. grid.Solar];
        for (var i = 0; i < grid.Count; i++)
        {
            if (!IsBeyond(grid, i))
                continue;
            var range = At(grid, i);
            var humidity = SeenWeather.HumidityAt(grid, i);
            air[i] = range.AirCelsius?.Clamp(air[i]) ?? air[i];
            vapour[i] = (range.HumidityPercent?.Clamp(humidity) ?? humidity) / 100 * VapourPressure.SaturationKilopascals(air[i]);
            wind[i] = range.WindMetersPerSecond?.Clamp(wind[i]) ?? wind[i];
            solar[i] = range.SolarWattsPerSquareMeter?.Clamp(solar[i]) ?? solar[i];
        }

        return grid.With(air, vapour, wind, solar);
    }

    /// <summary>Whether any of a step lies beyond what was seen.</summary>
    public bool IsBeyond(WeatherGrid grid, int i)
    {
        var range = At(grid, i);
        return range.AirCelsius?.Beyond(grid.Air[i]) > 0 || range.WindMetersPerSecond?.Beyond(grid.Wind[i]) > 0
            || range.SolarWattsPerSquareMeter?.Beyond(grid.Solar[i]) > 0 || HumidityBeyond(grid, i) > 0;
    }

    /// <summary>[%] How far the relative humidity of a step lies beyond what was seen; 0 inside.</summary>
    public double HumidityBeyond(WeatherGrid grid, int i) => At(grid, i).HumidityPercent?.Beyond(SeenWeather.HumidityAt(grid, i)) ?? 0;

    private SeenWeather At(WeatherGrid grid, int i) => _ranges[SunHeight.Of(grid.Elevation[i])];

    private static SeenWeather Nearest(IReadOnlyList<SeenWeather> seen, int own)
    {
        for (var away = 0; away < seen.Count; away++)
        {
            foreach (var one in (ReadOnlySpan<int>)[own - away, own + away])
            {
                if (one >= 0 && one < seen.Count && seen[one].AirCelsius is not null)
                    return seen[one];
            }
        }

        return Nothing;
    }
}
