using PavementWatch.Core.Surfaces;
using PavementWatch.Core.Weather;

namespace PavementWatch.Core.Offsets;

/// <summary>
/// Decides whether wind and sun are used. To learn from, they must have been there beside nine of ten surface readings.
/// To estimate, the fit must have learnt from them, and they must be there at the moment itself and for nine tenths of
/// the two days before it; else the fit without them answers. No estimate takes them from one step and not from the next.
/// </summary>
public static class InputsAtHand
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

    /// <summary>As <see cref="OffsetModel.Estimate"/>, each moment by the inputs that are at hand for it.</summary>
    /// <param name="model">Estimates.</param>
    /// <param name="fit">The spot's fit.</param>
    /// <param name="spot">The spot.</param>
    /// <param name="weather">In time order.</param>
    /// <param name="at">For which moments, UTC.</param>
    /// <param name="lent">States of measured spots of the same site; may be <c>null</c>.</param>
    /// <returns>One estimate for each moment, in their order.</returns>
    public static IReadOnlyList<InformedEstimate> Estimate(
        OffsetModel model, OffsetFit fit, Spot spot, IReadOnlyList<WeatherSample> weather, IReadOnlyList<DateTimeOffset> at,
        IReadOnlyList<LentState>? lent = null)
    {
        ArgumentNullException.ThrowIfNull(model);
        ArgumentNullException.ThrowIfNull(weather);
        ArgumentNullException.ThrowIfNull(at);
        var estimates = new InformedEstimate[at.Count];
        var moments = at.Select((moment, place) => (Moment: moment, Place: place));
        foreach (var alike in moments.GroupBy(m => At(fit, weather, m.Moment)))
        {
            var these = alike.ToList();
            var found = model.Estimate(fit, spot, Keep(weather, alike.Key), [.. these.Select(m => m.Moment)], lent);
            foreach (var (moment, estimate) in these.Zip(found))
                estimates[moment.Place] = new InformedEstimate(estimate, alike.Key);
        }

        return estimates;
    }

    /// <summary>The optional inputs that may be used for a moment.</summary>
    /// <param name="fit">What was learnt from.</param>
    /// <param name="weather">In time order.</param>
    /// <param name="moment">The moment, UTC.</param>
    /// <returns>Wind, sun, both or neither.</returns>
    public static OffsetInputs At(OffsetFit fit, IReadOnlyList<WeatherSample> weather, DateTimeOffset moment)
    {
        ArgumentNullException.ThrowIfNull(fit);
        ArgumentNullException.ThrowIfNull(weather);
        var learnt = fit.Parts.Aggregate(OffsetInputs.AirOnly, (all, part) => all | part.Inputs);
        var keep = OffsetInputs.AirOnly;
        foreach (var (input, isThere) in Optional)
        {
            if (!learnt.HasFlag(input))
                continue;
            var last = WeatherSample.FirstAfter(weather, moment + Beside);
            var there = false;
            for (var i = last - 1; i >= 0 && weather[i].At > moment - Beside && !there; i--)
                there = isThere(weather[i]);
            if (!there)
                continue;
            var (first, count, all) = (WeatherSample.FirstAfter(weather, moment - Lookback), 0, 0);
            for (var i = first; i < last; i++)
            {
                all++;
                count += isThere(weather[i]) ? 1 : 0;
            }

            if (count >= NeededFraction * all)
                keep |= input;
        }

        return keep;
    }

    /// <summary>The weather with these optional inputs only.</summary>
    /// <param name="weather">In time order.</param>
    /// <param name="keep">Wind, sun, both or neither.</param>
    /// <returns>The weather itself where all may stay.</returns>
    public static IReadOnlyList<WeatherSample> Keep(IReadOnlyList<WeatherSample> weather, OffsetInputs keep)
    {
        ArgumentNullException.ThrowIfNull(weather);
        var (wind, sun) = (keep.HasFlag(OffsetInputs.Wind), keep.HasFlag(OffsetInputs.Solar));
        if (weather.All(s => (wind || s.WindMetersPerSecond is null) && (sun || s.SolarWattsPerSquareMeter is null)))
            return weather;
        return [.. weather.Select(s => s with
        {
            WindMetersPerSecond = wind ? s.WindMetersPerSecond : null,
            SolarWattsPerSquareMeter = sun ? s.SolarWattsPerSquareMeter : null,
        })];
    }

    private static double Share(List<WeatherSample> measured, Func<WeatherSample, bool> isThere) =>
        measured.Count == 0 ? 0 : (double)measured.Count(isThere) / measured.Count;
}
