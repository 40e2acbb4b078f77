using PavementWatch.Core.Statistics;
using PavementWatch.Core.Sun;
using PavementWatch.Core.Surfaces;
using PavementWatch.Core.Weather;

namespace PavementWatch.Core.Offsets;

/// <summary>A fit made ready for many estimates on one stretch of weather.</summary>
/// <remarks>
/// Outside the weather that its samples spanned (<see cref="SeenWeather"/>) a linear fit says anything. Humidity is taken as the nearest that
/// was seen; and where any input is or was outside, the interval holds also what the fit says at the edge of what it saw. So nothing
/// unseen makes ground cooler, or warmer, with confidence.
/// </remarks>
public sealed class OffsetEstimator
{
    // Saturation is rarely read as 100 %.
    private const double WetHumidityPercent = 95;
    private const double WetHours = 3;

    // A kelvin of air beyond what was seen adds half a kelvin to the interval's ends; our choice.
    private const double WideningPerKelvin = 0.5;

    // Ten percent of humidity beyond what was seen add as much; our choice.
    private const double WideningPerHumidityPercent = 0.05;

    // A lender is heard when it was read this much later than the spot itself.
    private const double LentAfterHours = 1;

    private readonly WeatherGrid? _grid;
    private readonly OffsetFit _fit;
    private readonly SurfaceKind _surface;
    private readonly IReadOnlyList<NeighbourResidual> _lent;
    private readonly Expected? _expected;
    private readonly HandbookPrior.Ground _ground;
    private readonly DateTimeOffset _start;
    private readonly SeenBySun? _seen;

    // From this step on something was outside what was seen: what comes after still feels it.
    private readonly int _firstBeyond = int.MaxValue;
    private readonly DateTimeOffset _lastSurface = DateTimeOffset.MinValue;

    // What is expected at the edge of what was seen. Two threads may make it: with the same numbers.
    private Expected? _atEdge;

    /// <summary>Computes the offset on every step of the weather and up to a last moment.</summary>
    /// <param name="fit">The spot's fit.</param>
    /// <param name="spot">The spot.</param>
    /// <param name="weather">In time order; see <see cref="OffsetModel.Estimate"/>.</param>
    /// <param name="until">Last moment that will be asked for.</param>
    /// <param name="lent">States of other spots of the site, for when this one is dark; may be <c>null</c>.</param>
    /// <param name="sun">The sun over the spot as it was looked at before; <c>null</c> looks at it anew.</param>
    public OffsetEstimator(
        OffsetFit fit, Spot spot, IReadOnlyList<WeatherSample> weather, DateTimeOffset until,
        IReadOnlyList<NeighbourResidual>? lent = null, SunPath? sun = null)
    {
        ArgumentNullException.ThrowIfNull(fit);
        ArgumentNullException.ThrowIfNull(spot);
        ArgumentNullException.ThrowIfNull(weather);
        _fit = fit.Edition == OffsetFeatures.Edition ? fit : new OffsetModel(new OffsetOptions()).Prior(spot, fit.FittedAt);
        _surface = spot.Surface;
        _ground = HandbookPrior.Of(spot.Surface);
        _lent = lent ?? [];
        if (weather.Count == 0)
            return;

        if (until < weather[^1].At)
            until = weather[^1].At;
        for (var i = weather.Count - 1; i >= 0 && _lastSurface == DateTimeOffset.MinValue; i--)
        {
            if (weather[i].SurfaceCelsius is not null)
                _lastSurface = weather[i].At;
        }

        _grid = WeatherGrid.Make(spot, new WeatherStretch(weather, 0, weather.Count), _fit.StepMinutes, until, sun: sun);
        _start = weather[0].At;
        _seen = _fit.Seen is { } seen ? new SeenBySun(seen) : null;
        for (var i = 0; i < _grid.Count && _seen is not null && _firstBeyond == int.MaxValue; i++)
        {
            if (_seen.IsBeyond(_grid, i))
                _firstBeyond = i;
        }

        _expected = Expect(_seen?.WithHumidity(_grid) ?? _grid);
    }

    /// <summary>Estimates at some moments.</summary>
    /// <param name="moments">In any order.</param>
    /// <returns>One for each moment, in their order.</returns>
    public IReadOnlyList<SurfaceEstimate> At(IReadOnlyList<DateTimeOffset> moments)
    {
        ArgumentNullException.ThrowIfNull(moments);
        var estimates = new SurfaceEstimate[moments.Count];
        for (var i = 0; i < estimates.Length; i++)
            estimates[i] = At(moments[i]);
        return estimates;
    }

    /// <summary>Estimates at one moment.</summary>
    /// <param name="moment">The moment.</param>
    /// <returns>The estimate; its temperatures are NaN where no air is known.</returns>
    public SurfaceEstimate At(DateTimeOffset moment) => At(moment, DateTimeOffset.MaxValue);

    /// <summary>Estimates at one moment as if no surface had been read after another.</summary>
    /// <param name="moment">The moment.</param>
    /// <param name="lastSurface">Surface readings later than this are not looked at.</param>
    /// <returns>The estimate; its temperatures are NaN where no air is known.</returns>
    public SurfaceEstimate At(DateTimeOffset moment, DateTimeOffset lastSurface)
    {
        var none = new SurfaceEstimate(moment, double.NaN, double.NaN, double.NaN);
        if (_grid is null || _expected is null)
            return none;
        var place = (double)(moment.UtcTicks - _grid.FirstEndTicks) / _grid.StepTicks;
        var right = Math.Clamp((int)Math.Ceiling(place), 0, _grid.Count - 1);
        var left = Math.Max(0, right - 1);
        var share = Math.Clamp(place - left, 0, 1);
        var estimate = At(_expected, moment, lastSurface, left, right, share);
        if (double.IsNaN(estimate.SurfaceCelsius) || right < _firstBeyond)
            return estimate;
        var atEdge = At(AtEdge(_seen!), moment, lastSurface, left, right, share);
        return double.IsNaN(atEdge.SurfaceCelsius) ? estimate : estimate with
        {
            LowerCelsius = Math.Min(estimate.LowerCelsius, atEdge.LowerCelsius),
            UpperCelsius = Math.Max(estimate.UpperCelsius, atEdge.UpperCelsius),
        };
    }

    private SurfaceEstimate At(Expected by, DateTimeOffset moment, DateTimeOffset lastSurface, int left, int right, double share)
    {
        if (by.PartAt(right) is not { } part)
            return new SurfaceEstimate(moment, double.NaN, double.NaN, double.NaN);
        if (by.PartAt(left) is null)
            left = right;
        var offset = by.OffsetKelvin(left) + share * (by.OffsetKelvin(right) - by.OffsetKelvin(left));
        var air = _grid!.Air[left] + share * (_grid.Air[right] - _grid.Air[left]);
        // The air that the offset goes by: at the edge of what was seen another than there is.
        var seenAir = by.AirCelsius(left) + share * (by.AirCelsius(right) - by.AirCelsius(left));
        var sigma = ErrorScale.At(part.SigmaKelvin, _grid.SolarHour[right]);
        // By what is expected without a last reading: an older one must not narrow the interval by what it says.
        var heat = part.Ends?.HeatAt(seenAir + offset, _grid.Clear[right]) ?? 0;
        var quantile = part.Quantiles[^1];
        double kept = 0;
        var last = LastResidual(by, right, moment, lastSurface);
        double moved = 0;
        if (last is { } own)
        {
            kept = ByAge(part.Persistence, own.AgeHours, 1, 0);
            moved = kept * own.Sigmas;
            quantile = ByAge(part.Quantiles, own.AgeHours, 0.2 * part.Quantiles[0], part.Quantiles[^1]);
        }

        // Both ends go up with the heat that is lent: what a neighbour says is no reason to be surer that it is not hotter.
        if (Lent(moment, lastSurface, last?.AgeHours) is { Sigmas: > 0 } lent)
            moved = Math.Max(moved, lent.Share * ByAge(part.Persistence, lent.AgeHours, 1, 0) * lent.Sigmas);
        offset += sigma * moved;
        var widening = Widening(right, air);
        var expected = air + offset;
        var below = quantile * sigma * (part.Ends?.Lower(heat) ?? 1) + widening;
        var above = quantile * sigma * (part.Ends?.Upper(heat) ?? 1) + widening;
        // What a last reading has already told needs no lean.
        var lean = Math.Min(above, (1 - kept * kept) * (part.Lean?.At(seenAir + offset) ?? 0));
        // A fit that knows nothing of its ends has at least the lean.
        if (part.Ends is null)
            above += lean;
        return new SurfaceEstimate(moment, expected, expected - below, expected + above)
        {
            LeanKelvin = lean,
            Doubt = DoubtAt(right, air),
        };
    }

    /// <summary>How far the spot's own youngest surface reading up to a moment is from what the fit expects, to lend it to a dark neighbour.</summary>
    /// <param name="moment">The moment, UTC.</param>
    /// <returns>The state; <c>null</c> without a reading in the day before.</returns>
    public NeighbourResidual? StateAt(DateTimeOffset moment)
    {
        if (_grid is null)
            return null;
        var right = Math.Clamp((int)((moment.UtcTicks - _grid.FirstEndTicks + _grid.StepTicks - 1) / _grid.StepTicks), 0, _grid.Count - 1);
        return LastResidual(_expected!, right, moment, moment) is { } last
            ? new NeighbourResidual(_surface, moment - TimeSpan.FromHours(last.AgeHours), last.Sigmas)
            : null;
    }

    /// <summary>[K] What air or humidity beyond what was seen adds to each end of the interval.</summary>
    private double Widening(int index, double air)
    {
        var ofAir = _fit.SeenAir is { } seen ? Math.Max(0, Math.Max(air - seen.MostCelsius, seen.LeastCelsius - air)) : 0;
        var ofHumidity = _seen?.HumidityBeyond(_grid!, index) ?? 0;
        return WideningPerKelvin * ofAir + WideningPerHumidityPercent * ofHumidity;
    }

    private Expected AtEdge(SeenBySun seen)
    {
        if (Volatile.Read(ref _atEdge) is { } made)
            return made;
        made = Expect(seen.WithAll(_grid!));
        Volatile.Write(ref _atEdge, made);
        return made;
    }

    private Expected Expect(WeatherGrid weather) => new(
        _fit, weather,
        new SkyAndAir(weather, _surface, StartOf(_fit, _start), _fit.Parts.Aggregate(OffsetInputs.AirOnly, (all, part) => all | part.Inputs)),
        _ground);

    /// <summary>The mean of the heat that neighbours lend, if they were read clearly later than the spot itself.</summary>
    private (double Sigmas, double AgeHours, double Share)? Lent(DateTimeOffset moment, DateTimeOffset lastSurface, double? ownAgeHours)
    {
        double sigmas = 0;
        double share = 0;
        double age = 0;
        var count = 0;
        foreach (var lent in _lent)
        {
            var hours = (moment - lent.SeenAt).TotalHours;
            if (hours < 0 || lent.SeenAt > lastSurface || hours > OffsetModel.NowcastAges[^1]
                || hours + LentAfterHours > (ownAgeHours ?? double.MaxValue))
                continue;
            sigmas += lent.LentSigmas;
            share += lent.ShareFor(_surface);
            age += hours;
            count++;
        }

        return count == 0 ? null : (sigmas / count, age / count, share / count);
    }

    private EstimateDoubt DoubtAt(int index, double air)
    {
        var doubt = _fit.SampleCount == 0 ? EstimateDoubt.HandbookOnly : EstimateDoubt.None;
        if (_fit.SeenAir is { } seen)
        {
            doubt |= air > seen.MostCelsius ? EstimateDoubt.HotterThanSeen : 0;
            doubt |= air < seen.LeastCelsius ? EstimateDoubt.ColderThanSeen : 0;
        }

        if (index > _grid!.LastSampled)
            doubt |= EstimateDoubt.AirGuessed;
        for (var i = Math.Max(0, index - _grid.StepsIn(WetHours) + 1); i <= index; i++)
        {
            if (100 * _grid.Vapour[i] >= WetHumidityPercent * VapourPressure.SaturationKilopascals(_grid.Air[i]))
                doubt |= EstimateDoubt.MaybeWet;
        }

        return doubt;
    }

    /// <summary>The youngest surface reading's residual; a lone one far from the one before it is passed over.</summary>
    private (double Sigmas, double AgeHours)? LastResidual(Expected by, int from, DateTimeOffset moment, DateTimeOffset lastSurface)
    {
        (double Sigmas, double AgeHours)? youngest = null;
        for (var i = from; i >= 0; i--)
        {
            if (double.IsNaN(_grid!.Surface[i]) || by.PartAt(i) is not { } part)
                continue;
            // The last step may be under way.
            var seen = _grid.EndOf(i) < _lastSurface ? _grid.EndOf(i) : _lastSurface;
            if (seen > moment || seen > lastSurface)
                continue;
            var age = (moment - seen).TotalHours;
            if (age > OffsetModel.NowcastAges[^1])
                break;
            var sigmas = (_grid.Surface[i] - _grid.Air[i] - by.OffsetKelvin(i)) / ErrorScale.At(part.SigmaKelvin, _grid.SolarHour[i]);
            if (youngest is null && Math.Abs(sigmas) <= ErrorScale.WildestSigmas)
                return (sigmas, age);
            if (youngest is { } wild)
            {
                // Two wild ones in the same direction are a surface that changed.
                var agrees = Math.Sign(sigmas) == Math.Sign(wild.Sigmas) && Math.Abs(sigmas) > ErrorScale.WildestSigmas / 2;
                return agrees ? (Math.Clamp(wild.Sigmas, -ErrorScale.WildestSigmas, ErrorScale.WildestSigmas), wild.AgeHours) : (sigmas, age);
            }

            youngest = (sigmas, age);
        }

        return youngest is { } only ? (Math.Clamp(only.Sigmas, -ErrorScale.WildestSigmas, ErrorScale.WildestSigmas), only.AgeHours) : null;
    }

    private static LagState? StartOf(OffsetFit fit, DateTimeOffset first)
    {
        LagState? start = null;
        foreach (var lag in fit.Lags)
        {
            if (lag.At <= first || start is null)
                start = lag;
        }

        // Weather from long before or after what the fit knows begins afresh.
        return start is not null && (first - start.At).Duration() < TimeSpan.FromDays(3) ? start : null;
    }

    /// <summary>A value by the age of the last surface reading, between the ages in proportion.</summary>
    private static double ByAge(IReadOnlyList<double> values, double age, double atZero, double beyond)
    {
        var ages = OffsetModel.NowcastAges;
        var before = (Age: 0.0, Value: atZero);
        for (var i = 0; i < ages.Count; i++)
        {
            if (age <= ages[i])
                return before.Value + (values[i] - before.Value) * (age - before.Age) / (ages[i] - before.Age);
            before = (ages[i], values[i]);
        }

        return beyond;
    }

    /// <summary>The offset under some weather, filled as steps are asked for. Two threads may fill the same step: with the same numbers.</summary>
    private sealed class Expected(OffsetFit fit, WeatherGrid weather, SkyAndAir sky, HandbookPrior.Ground ground)
    {
        private readonly OffsetPart?[] _parts = new OffsetPart?[weather.Count];
        private readonly double[] _offsets = new double[weather.Count];

        /// <summary>[°C] Of a step.</summary>
        public double AirCelsius(int index) => weather.Air[index];

        /// <summary>[K] Of a step that has a part.</summary>
        public double OffsetKelvin(int index) => _offsets[index];

        /// <summary>The parameters that serve a step, its offset computed; <c>null</c> where no air is known.</summary>
        public OffsetPart? PartAt(int index)
        {
            if (_parts[index] is { } known)
                return known;
            foreach (var part in fit.Parts)
            {
                if (!OffsetFeatures.Has(weather, index, part.Inputs))
                    continue;
                var coefficients = part.Coefficients as double[] ?? [.. part.Coefficients];
                Span<double> features = stackalloc double[coefficients.Length];
                OffsetFeatures.Fill(features, sky, ground, part.Inputs, index);
                _offsets[index] = NormalEquations.Dot(features, coefficients);
                Volatile.Write(ref _parts[index], part);
                return part;
            }

            return null;
        }
    }
}
