using PavementWatch.Core.Statistics;
using PavementWatch.Core.Surfaces;

namespace PavementWatch.Core.Offsets;

/// <summary>A fit made ready for many estimates on one stretch of weather.</summary>
public sealed class OffsetEstimator
{
    private readonly WeatherGrid? _grid;
    private readonly OffsetPart?[] _parts = [];
    private readonly double[] _offsets = [];
    private readonly DateTimeOffset _lastSurface = DateTimeOffset.MinValue;

    /// <summary>Computes the offset on every step of the weather and up to a last moment.</summary>
    /// <param name="fit">The spot's fit.</param>
    /// <param name="spot">The spot.</param>
    /// <param name="weather">In time order; see <see cref="OffsetModel.Estimate"/>.</param>
    /// <param name="until">Last moment that will be asked for.</param>
    public OffsetEstimator(OffsetFit fit, Spot spot, IReadOnlyList<WeatherSample> weather, DateTimeOffset until)
    {
        ArgumentNullException.ThrowIfNull(fit);
        ArgumentNullException.ThrowIfNull(spot);
        ArgumentNullException.ThrowIfNull(weather);
        if (weather.Count == 0)
            return;
        if (until < weather[^1].At)
            until = weather[^1].At;
        _grid = WeatherGrid.Make(spot, weather, 0, fit.StepMinutes, until);
        for (var i = weather.Count - 1; i >= 0 && _lastSurface == DateTimeOffset.MinValue; i--)
        {
            if (weather[i].SurfaceCelsius is not null)
                _lastSurface = weather[i].At;
        }

        _parts = new OffsetPart?[_grid.Count];
        _offsets = new double[_grid.Count];
        Array.Fill(_offsets, double.NaN);
        foreach (var part in fit.Parts)
        {
            var features = OffsetFeatures.Of(_grid, spot, part.Inputs);
            var coefficients = part.Coefficients.ToArray();
            for (var i = 0; i < _grid.Count; i++)
            {
                if (_parts[i] is null && features[i] is { } row)
                {
                    _parts[i] = part;
                    _offsets[i] = NormalEquations.Dot(row, coefficients);
                }
            }
        }
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
    public SurfaceEstimate At(DateTimeOffset moment)
    {
        if (_grid is null)
            return new SurfaceEstimate(moment, double.NaN, double.NaN, double.NaN);
        var place = (double)(moment.UtcTicks - _grid.FirstEndTicks) / _grid.StepTicks;
        var right = Math.Clamp((int)Math.Ceiling(place), 0, _grid.Count - 1);
        var left = Math.Max(0, right - 1);
        var share = Math.Clamp(place - left, 0, 1);
        if (double.IsNaN(_offsets[left]))
            left = right;
        if (_parts[right] is not { } part)
            return new SurfaceEstimate(moment, double.NaN, double.NaN, double.NaN);
        var offset = _offsets[left] + share * (_offsets[right] - _offsets[left]);
        var air = _grid.Air[left] + share * (_grid.Air[right] - _grid.Air[left]);
        var width = part.HalfWidthsKelvin[OffsetModel.SunClass(_grid.Elevation[right])];

        for (var i = right; i >= 0; i--)
        {
            if (double.IsNaN(_grid.Surface[i]))
                continue;
            // The last step may be under way.
            var seen = _grid.EndOf(i) < _lastSurface ? _grid.EndOf(i) : _lastSurface;
            if (seen > moment)
                continue;
            var age = (moment - seen).TotalHours;
            if (age <= OffsetModel.NowcastAges[^1])
            {
                offset += Table(part.Persistence, age, 1) * (_grid.Surface[i] - _grid.Air[i] - _offsets[i]);
                width *= Table(part.Narrowing, age, 0.2);
            }

            break;
        }

        return new SurfaceEstimate(moment, air + offset, air + offset - width, air + offset + width);
    }

    private static double Table(IReadOnlyList<double> values, double age, double atZero)
    {
        var ages = OffsetModel.NowcastAges;
        if (age <= ages[0])
            return atZero + (values[0] - atZero) * age / ages[0];
        for (var i = 1; i < ages.Count; i++)
        {
            if (age <= ages[i])
                return values[i - 1] + (values[i] - values[i - 1]) * (age - ages[i - 1]) / (ages[i] - ages[i - 1]);
        }

        return values[^1];
    }
}
