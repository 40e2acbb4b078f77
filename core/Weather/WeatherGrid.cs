using PavementWatch.Core.Sun;
using PavementWatch.Core.Surfaces;

namespace PavementWatch.Core.Weather;

/// <summary>
/// Weather of one spot on steps of equal length, each the mean of the samples that end in it. Every derived column
/// looks back only: a step knows nothing of the steps after it.
/// </summary>
internal sealed class WeatherGrid
{
    /// <summary>[fraction] What a doubted surface counts beside a good one: a sensor whose body the sun has warmed is off by two or three times as much. Our choice.</summary>
    public const double DoubtedWeight = 0.25;

    private WeatherGrid(int count, int stepMinutes, long firstEndTicks)
    {
        Count = count;
        StepMinutes = stepMinutes;
        FirstEndTicks = firstEndTicks;
        Air = NaNs(count);
        Vapour = NaNs(count);
        Wind = NaNs(count);
        Solar = NaNs(count);
        Surface = NaNs(count);
        SurfaceWeight = NaNs(count);
        Clear = new double[count];
        SolarHour = new double[count];
        Elevation = new double[count];
    }

    private WeatherGrid(WeatherGrid other, double[] air, double[] vapour, double[] wind, double[] solar)
    {
        (Count, StepMinutes, FirstEndTicks, LastSampled) = (other.Count, other.StepMinutes, other.FirstEndTicks, other.LastSampled);
        (Surface, SurfaceWeight, Clear, SolarHour, Elevation) = (other.Surface, other.SurfaceWeight, other.Clear, other.SolarHour, other.Elevation);
        (Air, Vapour, Wind, Solar) = (air, vapour, wind, solar);
    }

    public int Count { get; }

    public int StepMinutes { get; }

    /// <summary>End of the first step, UTC ticks.</summary>
    public long FirstEndTicks { get; }

    /// <summary>[°C]; NaN where unknown.</summary>
    public double[] Air { get; }

    /// <summary>[kPa] Vapour pressure; NaN where unknown.</summary>
    public double[] Vapour { get; }

    /// <summary>[m/s]; NaN where unknown.</summary>
    public double[] Wind { get; }

    /// <summary>[W/m²]; NaN where unknown.</summary>
    public double[] Solar { get; }

    /// <summary>[°C]; NaN where unknown.</summary>
    public double[] Surface { get; }

    /// <summary>[fraction] How much of what a good reading counts the surface counts; NaN where unknown.</summary>
    public double[] SurfaceWeight { get; }

    /// <summary>[W/m²] Clear-sky sun in the middle of the step.</summary>
    public double[] Clear { get; }

    /// <summary>[h] True solar time in the middle of the step, 0 to 24.</summary>
    public double[] SolarHour { get; }

    /// <summary>[°] Sun's elevation in the middle of the step.</summary>
    public double[] Elevation { get; }

    /// <summary>Index of the last step with a sample; −1 when there is none.</summary>
    public int LastSampled { get; private set; } = -1;

    public long StepTicks => StepMinutes * TimeSpan.TicksPerMinute;

    /// <summary>How many steps a span holds; at least one.</summary>
    public int StepsIn(double hours) => Math.Max(1, (int)(hours * 60 / StepMinutes));

    public DateTimeOffset EndOf(int index) => new(FirstEndTicks + index * StepTicks, TimeSpan.Zero);

    /// <summary>Length of a step that suits the samples' spacing: 30 min, or 60 min for hourly ones.</summary>
    public static int StepFor(WeatherStretch samples)
    {
        var spacings = new List<double>();
        for (var i = Math.Max(1, samples.Count - 200); i < samples.Count; i++)
            spacings.Add((samples[i].At - samples[i - 1].At).TotalMinutes);
        return spacings.Count > 0 && Statistics.Robust.Median(spacings.ToArray()) > 31 ? 60 : 30;
    }

    /// <summary>Puts samples on steps.</summary>
    /// <param name="spot">Where.</param>
    /// <param name="samples">In time order.</param>
    /// <param name="stepMinutes">Length of a step.</param>
    /// <param name="until">The last step holds this moment, or the last sample if that is later.</param>
    /// <param name="withDoubted">Whether a doubted surface counts where there is no good one, with <see cref="DoubtedWeight"/>: to learn from.</param>
    public static WeatherGrid Make(
        Spot spot, WeatherStretch samples, int stepMinutes, DateTimeOffset until, bool withDoubted = false)
    {
        var step = stepMinutes * TimeSpan.TicksPerMinute;
        var first = Ceiling(samples.Count > 0 ? samples[0].At.UtcTicks : until.UtcTicks, step);
        var last = Ceiling(Math.Max(until.UtcTicks, samples.Count > 0 ? samples[samples.Count - 1].At.UtcTicks : 0), step);
        var grid = new WeatherGrid((int)((last - first) / step) + 1, stepMinutes, first);
        grid.Average(samples, withDoubted);
        grid.Fill(grid.Air, 2);
        grid.Fill(grid.Vapour, 2);
        grid.Fill(grid.Wind, 1);
        grid.Fill(grid.Solar, 1);
        grid.LightUp(spot);
        grid.Extend();
        return grid;
    }

    /// <summary>The same steps and surface under other weather.</summary>
    /// <param name="air">[°C] For each step.</param>
    /// <param name="vapour">[kPa] Likewise.</param>
    /// <param name="wind">[m/s] Likewise.</param>
    /// <param name="solar">[W/m²] Likewise.</param>
    public WeatherGrid With(double[] air, double[] vapour, double[] wind, double[] solar) => new(this, air, vapour, wind, solar);

    private void Average(WeatherStretch samples, bool withDoubted)
    {
        Span<double> sums = stackalloc double[6];
        Span<int> counts = stackalloc int[5];
        var index = -1;
        for (var i = 0; i < samples.Count; i++)
        {
            var sample = samples[i];
            var at = (int)((Ceiling(sample.At.UtcTicks, StepTicks) - FirstEndTicks) / StepTicks);
            if (at != index)
            {
                Store(index, sums, counts);
                index = at;
            }

            Add(sums, counts, 0, sample.AirCelsius);
            if (sample.HumidityPercent is { } humidity)
                Add(sums, counts, 1, humidity / 100 * VapourPressure.SaturationKilopascals(sample.AirCelsius));
            Add(sums, counts, 2, sample.WindMetersPerSecond ?? double.NaN);
            Add(sums, counts, 3, sample.SolarWattsPerSquareMeter ?? double.NaN);
            AddSurface(sums, counts, sample, withDoubted);
        }

        Store(index, sums, counts);
        LastSampled = index;
    }

    private void Store(int index, Span<double> sums, Span<int> counts)
    {
        if (index >= 0)
        {
            Air[index] = sums[0] / counts[0];
            Vapour[index] = sums[1] / counts[1];
            Wind[index] = sums[2] / counts[2];
            Solar[index] = sums[3] / counts[3];
            Surface[index] = sums[4] / sums[5];
            SurfaceWeight[index] = sums[5] / counts[4];
        }

        sums.Clear();
        counts.Clear();
    }

    private static void AddSurface(Span<double> sums, Span<int> counts, in WeatherSample sample, bool withDoubted)
    {
        var (surface, weight) = sample.SurfaceCelsius is { } good ? (good, 1) : (withDoubted ? sample.DoubtedSurfaceCelsius ?? double.NaN : double.NaN, DoubtedWeight);
        if (!double.IsFinite(surface))
            return;
        sums[4] += weight * surface;
        sums[5] += weight;
        counts[4]++;
    }

    private static void Add(Span<double> sums, Span<int> counts, int column, double value)
    {
        if (!double.IsFinite(value))
            return;
        sums[column] += value;
        counts[column]++;
    }

    /// <summary>Fills short gaps with the value before them: looking back only.</summary>
    private void Fill(double[] column, double mostHours)
    {
        var most = (int)(mostHours * 60 / StepMinutes);
        var missing = 0;
        for (var i = 1; i <= LastSampled; i++)
        {
            if (!double.IsNaN(column[i]))
                missing = 0;
            else if (++missing <= most && !double.IsNaN(column[i - 1]))
                column[i] = column[i - 1];
        }
    }

    private void LightUp(Spot spot)
    {
        for (var i = 0; i < Count; i++)
        {
            var middle = EndOf(i).AddTicks(-StepTicks / 2);
            var sun = SolarPosition.At(middle, spot.LatitudeDegrees, spot.LongitudeDegrees);
            Elevation[i] = sun.ElevationDegrees;
            Clear[i] = ClearSky.GlobalWattsPerSquareMeter(sun.ElevationDegrees);
            SolarHour[i] = (sun.HourAngleDegrees / 15 + 36) % 24;
        }
    }

    /// <summary>Steps without air take the air of a day before, moved by what today differs, which fades over a day.</summary>
    private void Extend()
    {
        var day = 24 * 60 / StepMinutes;
        var known = -1;
        for (var i = 0; i < Count; i++)
        {
            if (!double.IsNaN(Air[i]))
            {
                known = i;
                continue;
            }

            if (known < 0)
                continue;
            var hours = (i - known) * StepMinutes / 60.0;
            var before = i - day * (1 + (i - known - 1) / day);
            var shift = known >= day && !double.IsNaN(Air[known - day]) ? Air[known] - Air[known - day] : 0;
            Air[i] = before >= 0 && !double.IsNaN(Air[before]) ? Air[before] + shift * Math.Exp(-hours / 12) : Air[known];
            Vapour[i] = Math.Min(Vapour[known], VapourPressure.SaturationKilopascals(Air[i]));
        }
    }

    private static long Ceiling(long ticks, long step) => (ticks + step - 1) / step * step;

    private static double[] NaNs(int count)
    {
        var values = new double[count];
        Array.Fill(values, double.NaN);
        return values;
    }
}
