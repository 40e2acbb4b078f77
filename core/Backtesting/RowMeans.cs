using PavementWatch.Core.Weather;

namespace PavementWatch.Core.Backtesting;

/// <summary>Rows averaged to steps, so that a file of any length needs no more memory than its span.</summary>
/// <remarks>
/// A step's mean stands at its end, as <see cref="WeatherGrid"/> has it, and each length divides the next, so nothing
/// is averaged twice. Humidity is averaged as vapour, as the model looks at it.
/// </remarks>
/// <param name="most">How many steps are kept; when there are more, they become longer.</param>
internal sealed class RowMeans(int most)
{
    private static readonly int[] Lengths = [1, 5, 10, 30, 60];

    private List<MeanStep> _steps = [];
    // Only for rows out of order.
    private Dictionary<long, int>? _places;
    private int _length;

    /// <summary>[min] Length of a step.</summary>
    public int Minutes => Lengths[_length];

    /// <summary>Adds a row.</summary>
    /// <returns>Whether there was room.</returns>
    public bool Add(in WeatherSample row)
    {
        var step = new MeanStep { End = EndOf(row.At.UtcTicks) };
        step.Add(0, row.AirCelsius);
        if (row.HumidityPercent is { } humidity)
            step.Add(1, humidity / 100 * VapourPressure.SaturationKilopascals(row.AirCelsius));
        if (row.WindMetersPerSecond is { } wind)
            step.Add(2, wind);
        if (row.SolarWattsPerSquareMeter is { } solar)
            step.Add(3, solar);
        if (row.SurfaceCelsius is { } surface)
            step.Add(4, surface);
        Put(step);
        while (_steps.Count > most)
        {
            if (_length + 1 == Lengths.Length)
                return false;
            Lengthen();
        }

        return true;
    }

    /// <summary>The means in time order.</summary>
    public List<WeatherSample> Rows()
    {
        if (_places is not null)
            _steps.Sort((a, b) => a.End.CompareTo(b.End));
        _places = null;
        return _steps.ConvertAll(s => s.Mean());
    }

    private void Put(in MeanStep step)
    {
        if (_steps.Count == 0 || (_places is null && step.End > _steps[^1].End))
        {
            _steps.Add(step);
            return;
        }

        if (_steps[^1].End == step.End)
        {
            _steps[^1] = _steps[^1].With(step);
            return;
        }

        _places ??= _steps.Index().ToDictionary(s => s.Item.End, s => s.Index);
        if (_places.TryGetValue(step.End, out var place))
        {
            _steps[place] = _steps[place].With(step);
            return;
        }

        _places[step.End] = _steps.Count;
        _steps.Add(step);
    }

    private void Lengthen()
    {
        _length++;
        var shorter = _steps;
        (_steps, _places) = ([], null);
        foreach (var step in shorter)
            Put(step with { End = EndOf(step.End) });
    }

    private long EndOf(long ticks)
    {
        var step = Minutes * TimeSpan.TicksPerMinute;
        return (ticks + step - 1) / step * step;
    }

    [System.Runtime.CompilerServices.InlineArray(5)]
    private struct Five<T>
    {
        private T _first;
    }

    private struct MeanStep
    {
        private Five<double> _sums;
        private Five<int> _counts;

        /// <summary>UTC ticks.</summary>
        public long End { get; init; }

        public void Add(int column, double value)
        {
            _sums[column] += value;
            _counts[column]++;
        }

        public readonly MeanStep With(in MeanStep other)
        {
            var both = this;
            for (var c = 0; c < 5; c++)
            {
                both._sums[c] += other._sums[c];
                both._counts[c] += other._counts[c];
            }

            return both;
        }

        public readonly WeatherSample Mean()
        {
            var air = _sums[0] / _counts[0];
            return new WeatherSample(new DateTimeOffset(End, TimeSpan.Zero), air)
            {
                HumidityPercent = Of(1) is { } vapour ? Math.Min(100, 100 * vapour / VapourPressure.SaturationKilopascals(air)) : null,
                WindMetersPerSecond = Of(2),
                SolarWattsPerSquareMeter = Of(3),
                SurfaceCelsius = Of(4),
            };
        }

        private readonly double? Of(int column) => _counts[column] > 0 ? _sums[column] / _counts[column] : null;
    }
}
