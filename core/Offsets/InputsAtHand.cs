using PavementWatch.Core.Weather;

namespace PavementWatch.Core.Offsets;

/// <summary>
/// Decides whether wind and sun are used. To learn from, they must have been there beside nine of ten surface readings.
/// To estimate, the fit must have learnt from them, and they must be there at the moment itself and for nine tenths of
/// the two days before it; else the fit without them answers. No estimate takes them from one step and not from the next.
/// </summary>
public sealed class InputsAtHand
{
    /// <summary>[fraction] Of the time for which an input must be there.</summary>
    public const double NeededFraction = 0.9;

    private static readonly TimeSpan Lookback = TimeSpan.FromDays(2);
    private static readonly TimeSpan Beside = TimeSpan.FromMinutes(30);

    private static readonly (OffsetInputs Input, Func<WeatherSample, bool> IsThere)[] Optional =
    [
        (OffsetInputs.Wind, s => s.WindMetersPerSecond is not null),
        (OffsetInputs.Solar, s => s.SolarWattsPerSquareMeter is not null),
    ];

    private readonly IReadOnlyList<WeatherSample> _weather;

    // Of each input that was learnt from: how many of the first so many samples have it.
    private readonly List<(OffsetInputs Input, int[] Have)> _learnt = [];

    /// <summary>Looks through the weather once, for any number of moments.</summary>
    /// <param name="fit">What was learnt from.</param>
    /// <param name="weather">In time order.</param>
    public InputsAtHand(OffsetFit fit, IReadOnlyList<WeatherSample> weather)
    {
        ArgumentNullException.ThrowIfNull(fit);
        ArgumentNullException.ThrowIfNull(weather);
        _weather = weather;
        var learnt = fit.Parts.Aggregate(OffsetInputs.AirOnly, (all, part) => all | part.Inputs);
        foreach (var (input, isThere) in Optional)
        {
            if (!learnt.HasFlag(input))
                continue;
            var have = new int[weather.Count + 1];
            for (var i = 0; i < weather.Count; i++)
                have[i + 1] = have[i] + (isThere(weather[i]) ? 1 : 0);
            _learnt.Add((input, have));
        }
    }

    /// <summary>The optional inputs that may be used for a moment.</summary>
    /// <param name="moment">The moment, UTC.</param>
    /// <returns>Wind, sun, both or neither.</returns>
    public OffsetInputs At(DateTimeOffset moment)
    {
        var keep = OffsetInputs.AirOnly;
        if (_learnt.Count == 0)
            return keep;
        var first = WeatherSample.FirstAfter(_weather, moment - Lookback);
        var beside = WeatherSample.FirstAfter(_weather, moment - Beside);
        var last = WeatherSample.FirstAfter(_weather, moment + Beside);
        foreach (var (input, have) in _learnt)
        {
            if (have[last] > have[beside] && have[last] - have[first] >= NeededFraction * (last - first))
                keep |= input;
        }

        return keep;
    }

    /// <summary>The weather with these optional inputs only. What the fit has not learnt from may stay: nothing of the fit looks at it.</summary>
    /// <param name="keep">Wind, sun, both or neither.</param>
    /// <returns>The weather itself where all may stay.</returns>
    public IReadOnlyList<WeatherSample> With(OffsetInputs keep)
    {
        var taken = OffsetInputs.AirOnly;
        foreach (var (input, _) in _learnt)
            taken |= input & ~keep;
        return taken == OffsetInputs.AirOnly ? _weather : Keep(_weather, ~taken);
    }

    /// <summary>A history with the inputs that may be learnt from; the others taken out.</summary>
    /// <param name="history">In time order.</param>
    /// <returns>The history itself where all may stay.</returns>
    public static IReadOnlyList<WeatherSample> ForLearning(IReadOnlyList<WeatherSample> history)
    {
        ArgumentNullException.ThrowIfNull(history);
        var measured = history.Where(s => s.SurfaceCelsius is not null).ToList();
        var keep = OffsetInputs.AirOnly;
        foreach (var (input, isThere) in Optional)
        {
            if (Share(measured, isThere) >= NeededFraction)
                keep |= input;
        }

        return Keep(history, keep);
    }

    /// <summary>How often an input was there beside a surface reading.</summary>
    /// <param name="history">In time order.</param>
    /// <param name="input">Wind or sun.</param>
    /// <returns>[fraction] Of the surface readings; 0 without any.</returns>
    public static double Share(IReadOnlyList<WeatherSample> history, OffsetInputs input) =>
        Share([.. history.Where(s => s.SurfaceCelsius is not null)], Optional.Single(o => o.Input == input).IsThere);

    private static IReadOnlyList<WeatherSample> Keep(IReadOnlyList<WeatherSample> weather, OffsetInputs keep)
    {
        var (wind, sun) = (keep.HasFlag(OffsetInputs.Wind), keep.HasFlag(OffsetInputs.Solar));
        if (weather.All(s => (wind || s.WindMetersPerSecond is null) && (sun || s.SolarWattsPerSquareMeter is null)))
            return weather;
        return weather.Select(s => s with
        {
            WindMetersPerSecond = wind ? s.WindMetersPerSecond : null,
            SolarWattsPerSquareMeter = sun ? s.SolarWattsPerSquareMeter : null,
        }).ToArray();
    }

    private static double Share(List<WeatherSample> measured, Func<WeatherSample, bool> isThere) =>
        measured.Count == 0 ? 0 : (double)measured.Count(isThere) / measured.Count;
}
