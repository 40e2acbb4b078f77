using PavementWatch.Core.Surfaces;
using PavementWatch.Core.Weather;

namespace PavementWatch.Core.Offsets;

/// <summary>What the offset is a linear function of, for every step of a grid: names, pull towards the prior, values.</summary>
/// <remarks>
/// Chosen by cross-validation over time on the two open data sets, half-years and inputs together; a group was kept
/// only where leaving it out cost something over all spans. The pulls are in samples.
/// </remarks>
internal static class OffsetFeatures
{
    /// <summary>Changes whenever a feature is added, removed or redefined: coefficients of another set mean nothing here.</summary>
    public const int Edition = 3;

    private const int Harmonics = 4;
    private const int BeamHarmonics = 6;

    /// <summary>Name and pull of each feature of a set of inputs, in order; the first is the handbook prior itself.</summary>
    public static IReadOnlyList<Feature> Of(OffsetInputs inputs)
    {
        var list = new List<Feature> { new("handbook", 10, 1), new("level", 4), new("sun", 20), new("sun, 3 h", 20), new("sun, 9 h", 20) };
        Hours(list, "hour", Harmonics, 2, 3);
        list.Add(new("calm rise by sun", 5));
        list.AddRange([new("rise by sun", 3), new("rise beyond sun", 3)]);
        Hours(list, "rise", Harmonics, 20, 3);
        Hours(list, "3 h change", Harmonics, 20, 3);
        list.AddRange([new("restless air", 3), new("restless air by sun", 3), new("air", 3), new("air by sun", 3)]);
        foreach (var hours in SkyAndAir.AirLags)
            list.Add(new($"air, {hours} h", 3));
        Hours(list, "air, 48 h", Harmonics, 20, 3);
        if (inputs.HasFlag(OffsetInputs.Humidity))
        {
            list.AddRange([new("humidity", 5), new("humidity by sun", 5), new("humidity squared by sun", 5)]);
            Hours(list, "humidity", Harmonics, 5, 3);
            Hours(list, "humidity squared", Harmonics, 20, 3);
            foreach (var hours in SkyAndAir.HumidityLags)
                list.AddRange([new($"humidity, {hours} h", 3), new($"humidity, {hours} h, by sun", 3)]);
        }

        if (inputs.HasFlag(OffsetInputs.Wind))
        {
            list.AddRange([new("wind", 5), new("wind by sun", 5)]);
            Hours(list, "wind", Harmonics, 20, 3);
        }

        if (inputs.HasFlag(OffsetInputs.Solar))
        {
            list.AddRange([new("clear sun", 0.5), new("sun, kind's lag", 0.5), new("sun by clear sun", 0.5), new("beam", 3)]);
            Hours(list, "beam", BeamHarmonics, 3, 4);
            Hours(list, "sun, 2 h", Harmonics, 1.25, 3);
            foreach (var hours in SkyAndAir.ClearnessLags)
                list.Add(new($"clearness, {hours} h", 3));
        }

        return list;
    }

    /// <summary>Features of every step.</summary>
    /// <returns>For each step its features, or <c>null</c> where an input is missing.</returns>
    public static double[]?[] Rows(SkyAndAir sky, SurfaceKind surface, OffsetInputs inputs)
    {
        var ground = HandbookPrior.Of(surface);
        var count = Of(inputs).Count;
        var rows = new double[]?[sky.Grid.Count];
        for (var i = 0; i < rows.Length; i++)
        {
            if (Has(sky.Grid, i, inputs))
                Fill(rows[i] = new double[count], sky, ground, inputs, i);
        }

        return rows;
    }

    /// <summary>Whether a step has what a set of inputs needs.</summary>
    public static bool Has(WeatherGrid grid, int i, OffsetInputs inputs) =>
        !double.IsNaN(grid.Air[i])
        && !(inputs.HasFlag(OffsetInputs.Humidity) && double.IsNaN(grid.Vapour[i]))
        && !(inputs.HasFlag(OffsetInputs.Wind) && double.IsNaN(grid.Wind[i]))
        && !(inputs.HasFlag(OffsetInputs.Solar) && double.IsNaN(grid.Solar[i]));

    /// <summary>Features of one step that has what they need.</summary>
    public static void Fill(Span<double> features, SkyAndAir sky, in HandbookPrior.Ground ground, OffsetInputs inputs, int i)
    {
        var grid = sky.Grid;
        var windy = inputs.HasFlag(OffsetInputs.Wind);
        var sunny = inputs.HasFlag(OffsetInputs.Solar);
        var sun = sunny ? grid.Solar : grid.Clear;
        var lags = sunny ? sky.SolarLags : sky.ClearLags;
        Span<double> waves = stackalloc double[2 * BeamHarmonics];
        for (var k = 1; k <= BeamHarmonics; k++)
            (waves[2 * k - 2], waves[2 * k - 1]) = Math.SinCos(2 * Math.PI * k * grid.SolarHour[i] / 24);
        var four = waves[..(2 * Harmonics)];

        var row = new Row(features, grid.Clear[i] / 500);
        var slow = lags[SkyAndAir.SlowSun][i];
        row.Add(HandbookPrior.OffsetKelvin(ground, lags[SkyAndAir.KindsSun][i], slow, windy ? grid.Wind[i] : null));
        row.Add(1);
        row.Add(sun[i] / 500);
        row.Add(lags[SkyAndAir.MediumSun][i] / 500);
        row.Add(slow / 500);
        row.Add(1, four);
        Air(ref row, sky, i, four);
        if (inputs.HasFlag(OffsetInputs.Humidity))
            Humidity(ref row, sky, i, four);
        if (windy)
        {
            var wind = Math.Sqrt(grid.Wind[i]) - 1.5;
            row.Add(wind);
            row.Add(wind * sun[i] / 500);
            row.Add(wind, four);
        }

        if (sunny)
        {
            row.Add(row.Bright);
            row.Add(lags[SkyAndAir.KindsSun][i] / 500);
            row.Add(sun[i] / 500 * row.Bright / 2);
            // Beam, roughly: what the sky lets through beyond the 30 % that a closed cloud does.
            var clearness = grid.Clear[i] > 20 ? Math.Min(1.1, sun[i] / grid.Clear[i]) : 0;
            var beam = sun[i] / 500 * Math.Clamp((clearness - 0.3) / 0.7, 0, 1.2);
            row.Add(beam);
            row.Add(beam, waves);
            row.Add(lags[SkyAndAir.QuickSun][i] / 500, four);
            foreach (var lagged in sky.Clearness)
                row.Add(lagged[i]);
        }
    }

    private static void Air(ref Row row, SkyAndAir sky, int i, scoped ReadOnlySpan<double> waves)
    {
        var air = sky.Grid.Air[i];
        row.Add(Math.Clamp(sky.HourChange[i], -1, 1) * row.Bright);
        var rise = (air - sky.LeastOfNight[i]) / 4;
        row.Add(rise * row.Bright);
        row.Add(rise - sky.ClearLags[SkyAndAir.MediumSun][i] / 400);
        row.Add(rise, waves);
        row.Add(sky.ThreeHourChange[i] / 2, waves);
        row.Both(sky.Restlessness[i]);
        row.Both((air - 15) / 10);
        foreach (var lagged in sky.LaggedAir)
            row.Add((lagged[i] - air) / 5);
        row.Add((sky.LaggedAir[SkyAndAir.TwoDayAir][i] - air) / 5, waves);
    }

    private static void Humidity(ref Row row, SkyAndAir sky, int i, scoped ReadOnlySpan<double> waves)
    {
        var humidity = sky.Humidity[i];
        row.Both(humidity);
        row.Add(humidity * humidity * row.Bright);
        row.Add(humidity, waves);
        row.Add(humidity * humidity, waves);
        foreach (var lagged in sky.LaggedHumidity)
            row.Both(lagged[i]);
    }

    private static void Hours(List<Feature> list, string name, int harmonics, double pull, double knee)
    {
        for (var k = 1; k <= harmonics; k++)
        {
            // Finer waves are held more tightly.
            var held = pull * (1 + Math.Pow(k / knee, 4));
            list.AddRange([new($"{name}, sin {k}", held), new($"{name}, cos {k}", held)]);
        }
    }

    /// <summary>A feature.</summary>
    /// <param name="Name">For the analyst.</param>
    /// <param name="Pull">[samples] How strongly its coefficient is drawn to the prior.</param>
    /// <param name="Prior">[K per unit] The coefficient's prior.</param>
    internal readonly record struct Feature(string Name, double Pull, double Prior = 0);

    /// <summary>A step's features as they are put down, in the order of their names.</summary>
    private ref struct Row(Span<double> values, double bright)
    {
        private readonly Span<double> _values = values;
        private int _next;

        /// <summary>Clear-sky sun of the step over 500 W/m².</summary>
        public double Bright { get; } = bright;

        public void Add(double value) => _values[_next++] = value;

        public void Add(double value, scoped ReadOnlySpan<double> waves)
        {
            foreach (var wave in waves)
                _values[_next++] = value * wave;
        }

        public void Both(double value)
        {
            Add(value);
            Add(value * Bright);
        }
    }
}
