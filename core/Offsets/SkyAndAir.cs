using PavementWatch.Core.Surfaces;
using PavementWatch.Core.Weather;

namespace PavementWatch.Core.Offsets;

/// <summary>What sun and air of a grid look like from each step back: lags, changes, the night's least. Shared by all sets of inputs.</summary>
internal sealed class SkyAndAir
{
    public const int KindsSun = 0;
    public const int QuickSun = 1;
    public const int MediumSun = 2;
    public const int SlowSun = 3;
    public const int TwoDayAir = 2;

    /// <summary>[h] Time constants of the lagged air.</summary>
    public static readonly double[] AirLags = [3, 12, 48, 168];

    /// <summary>[h] Time constants of the lagged humidity.</summary>
    public static readonly double[] HumidityLags = [3, 12, 48];

    /// <summary>[h] Time constants of the sky's clearness.</summary>
    public static readonly double[] ClearnessLags = [3, 12, 48];

    private const double NightHours = 14;

    private readonly double[][] _clearForClearness;
    private readonly double[][] _solarForClearness;

    /// <summary>Looks back from every step of a grid.</summary>
    /// <param name="grid">The grid.</param>
    /// <param name="surface">Gives the ground's own lag.</param>
    /// <param name="start">Lags at the grid's first step, from a fit that knew what was before; or <c>null</c>.</param>
    /// <param name="inputs">What will be looked at besides the air: lags of anything else are not made.</param>
    public SkyAndAir(WeatherGrid grid, SurfaceKind surface, LagState? start, OffsetInputs inputs = OffsetInputs.All)
    {
        Grid = grid;
        var seeds = new Seeds(start?.Values);
        double[] sunLags = [HandbookPrior.Of(surface).LagHours, 2, 3, HandbookPrior.SlowHours];
        var (isSunny, isHumid) = (inputs.HasFlag(OffsetInputs.Solar), inputs.HasFlag(OffsetInputs.Humidity));
        Humidity = new double[isHumid ? grid.Count : 0];
        for (var i = 0; i < Humidity.Length; i++)
            Humidity[i] = grid.Vapour[i] / VapourPressure.SaturationKilopascals(grid.Air[i]) * 4 - 2.5;
        // The order of these lines is the order of a LagState.
        ClearLags = Lags(sunLags, grid.Clear, seeds, true);
        SolarLags = Lags(sunLags, grid.Solar, seeds, isSunny);
        LaggedAir = Lags(AirLags, grid.Air, seeds, true);
        LaggedHumidity = Lags(HumidityLags, Humidity, seeds, isHumid);
        _clearForClearness = Lags(ClearnessLags, grid.Clear, seeds, isSunny);
        _solarForClearness = Lags(ClearnessLags, grid.Solar, seeds, isSunny);
        Clearness = new double[isSunny ? ClearnessLags.Length : 0][];
        for (var h = 0; h < Clearness.Length; h++)
        {
            Clearness[h] = new double[grid.Count];
            for (var i = 0; i < grid.Count; i++)
            {
                var clear = _clearForClearness[h][i];
                Clearness[h][i] = clear > 5 ? _solarForClearness[h][i] / clear * 3 - 2 : 0;
            }
        }

        HourChange = Change(1);
        ThreeHourChange = Change(3);
        Restlessness = Restless();
        LeastOfNight = Least();
    }

    public WeatherGrid Grid { get; }

    /// <summary>[W/m²] Clear-sky sun lagged by the ground's own time, 2, 3 and 9 h.</summary>
    public double[][] ClearLags { get; }

    /// <summary>[W/m²] Measured sun, likewise.</summary>
    public double[][] SolarLags { get; }

    /// <summary>[°C] By <see cref="AirLags"/>.</summary>
    public double[][] LaggedAir { get; }

    /// <summary>Relative humidity, 0 at 62.5 % and 1 at 87.5 %.</summary>
    public double[] Humidity { get; }

    /// <summary>By <see cref="HumidityLags"/>.</summary>
    public double[][] LaggedHumidity { get; }

    /// <summary>Measured over clear-sky sun, both lagged by <see cref="ClearnessLags"/>; 0 at two thirds, 1 under a clear sky.</summary>
    public double[][] Clearness { get; }

    /// <summary>[K] Air now minus air an hour before.</summary>
    public double[] HourChange { get; }

    /// <summary>[K] Air now minus air three hours before.</summary>
    public double[] ThreeHourChange { get; }

    /// <summary>[K] Half of how much further the air went up and down in three hours than it came: broken cloud.</summary>
    public double[] Restlessness { get; }

    /// <summary>[°C] Least air of the last 14 h.</summary>
    public double[] LeastOfNight { get; }

    /// <summary>The lags after a step, for a grid that begins there; where all inputs are looked at.</summary>
    public LagState StateAt(int index)
    {
        double[][][] groups = [ClearLags, SolarLags, LaggedAir, LaggedHumidity, _clearForClearness, _solarForClearness];
        return new LagState(
            Grid.EndOf(index), [.. groups.SelectMany(g => g).Select(lag => double.IsNaN(lag[index]) ? (double?)null : lag[index])]);
    }

    // Those that are not made have their seeds all the same.
    private double[][] Lags(double[] hours, double[] values, Seeds seeds, bool areMade)
    {
        var lags = new double[areMade ? hours.Length : 0][];
        for (var h = 0; h < hours.Length; h++)
        {
            var seed = seeds.Next();
            if (areMade)
                lags[h] = Lag(values, hours[h], seed);
        }

        return lags;
    }

    /// <summary>Exponentially lagged; without a seed it begins with the first day's mean, so that a short history does not look like night.</summary>
    private double[] Lag(double[] values, double hours, double? seed)
    {
        var keep = Math.Exp(-Grid.StepMinutes / 60.0 / hours);
        var value = seed ?? FirstDay(values);
        var lagged = new double[values.Length];
        for (var i = 0; i < values.Length; i++)
        {
            if (!double.IsNaN(values[i]))
                value = double.IsNaN(value) ? values[i] : keep * value + (1 - keep) * values[i];
            lagged[i] = value;
        }

        return lagged;
    }

    private double FirstDay(double[] values)
    {
        double sum = 0;
        var known = 0;
        for (var i = 0; i < Math.Min(values.Length, Grid.StepsIn(24)); i++)
        {
            if (double.IsNaN(values[i]))
                continue;
            sum += values[i];
            known++;
        }

        return known > 0 ? sum / known : double.NaN;
    }

    private double[] Change(double hours)
    {
        var back = Grid.StepsIn(hours);
        var change = new double[Grid.Count];
        for (var i = back; i < change.Length; i++)
        {
            var difference = Grid.Air[i] - Grid.Air[i - back];
            change[i] = double.IsNaN(difference) ? 0 : difference;
        }

        return change;
    }

    private double[] Restless()
    {
        var back = Grid.StepsIn(3);
        var restless = new double[Grid.Count];
        double path = 0;
        for (var i = 1; i < restless.Length; i++)
        {
            path += Step(i);
            if (i - back >= 1)
                path -= Step(i - back);
            var way = Math.Abs(Grid.Air[i] - Grid.Air[Math.Max(0, i - back)]);
            restless[i] = double.IsNaN(way) ? 0 : Math.Max(0, path - way) / 2;
        }

        return restless;
    }

    private double Step(int index)
    {
        var step = Math.Abs(Grid.Air[index] - Grid.Air[index - 1]);
        return double.IsNaN(step) ? 0 : step;
    }

    private double[] Least()
    {
        var back = Grid.StepsIn(NightHours);
        var least = new double[Grid.Count];
        for (var i = 0; i < least.Length; i++)
        {
            least[i] = Grid.Air[i];
            for (var j = Math.Max(0, i - back + 1); j < i; j++)
            {
                if (Grid.Air[j] < least[i])
                    least[i] = Grid.Air[j];
            }
        }

        return least;
    }

    private sealed class Seeds(IReadOnlyList<double?>? values)
    {
        private int _next;

        public double? Next()
        {
            var at = _next++;
            return values is not null && at < values.Count ? values[at] : null;
        }
    }
}

/// <summary>Where the lagged sun, air and humidity of a spot stood at a moment, so that a few days of weather suffice to go on.</summary>
/// <param name="At">End of the step, UTC.</param>
/// <param name="Values">In the order of the features' making; <c>null</c> where nothing was known.</param>
public sealed record LagState(DateTimeOffset At, IReadOnlyList<double?> Values);
