using PavementWatch.Core.Surfaces;
using PavementWatch.Core.Weather;

namespace PavementWatch.Core.Offsets;

/// <summary>What the offset is a linear function of, for every step of a grid: names, pull towards the prior, values.</summary>
/// <remarks>
/// Chosen by cross-validation over time on the two open data sets, half-years and inputs together; a group was kept
/// only where leaving it out cost something over all spans. The pulls are in samples, and one sample is to weigh alike on
/// each: so every quantity is brought to the order of one over a summer's day by a <see cref="Scale"/>, our own choice.
/// </remarks>
internal static class OffsetFeatures
{
    /// <summary>Changes whenever a feature is added, removed or redefined: coefficients of another set mean nothing here.</summary>
    public const int Edition = 3;

    private const int Harmonics = 4;
    private const int BeamHarmonics = 6;

    // [W/m²] Half of a bright midday's sun.
    private static readonly Scale Sun = new(0, 500);

    // [°C] From a mild day, in steps from one season to the next.
    private static readonly Scale Air = new(15, 10);

    // [K] A third of what air rises by on a clear summer day.
    private static readonly Scale Rise = new(0, 4);

    // [W/m²] That rise, as clear sun brings it about: 1 K for 100 W/m² that have shone for three hours.
    private static readonly Scale SunOfRise = new(0, 400);

    // [K] What air rises by in three hours of a fair morning is two or three of these.
    private static readonly Scale ThreeHours = new(0, 2);

    // [K] How far air gets from what it was lately.
    private static readonly Scale Lag = new(0, 5);

    // [√(m/s)] From the root of a light breeze: what wind takes grows less than the wind does.
    private static readonly Scale RootOfWind = new(1.5, 1);

    /// <summary>All of them, in the order of the coefficients: each with its name, how strongly it is held, and what it is of a step.</summary>
    private static readonly Term[] Terms =
    [
        new("handbook", 10, (in Step s) => HandbookPrior.OffsetKelvin(s.Ground, s.Lag(SkyAndAir.KindsSun), s.Lag(SkyAndAir.SlowSun), s.WindMetersPerSecond)) { Prior = 1 },
        new("level", 4, (in Step _) => 1),
        new("sun", 20, (in Step s) => Sun.Of(s.Sun)),
        new("sun, 3 h", 20, (in Step s) => Sun.Of(s.Lag(SkyAndAir.MediumSun))),
        new("sun, 9 h", 20, (in Step s) => Sun.Of(s.Lag(SkyAndAir.SlowSun))),
        new("hour", 2, (in Step _) => 1) { Waves = Harmonics },
        // Within an hour air that warms more than a kelvin has come from elsewhere.
        new("calm rise by sun", 5, (in Step s) => Math.Clamp(s.Sky.HourChange[s.Index], -1, 1) * s.Bright),
        new("rise by sun", 3, (in Step s) => s.Rise * s.Bright),
        new("rise beyond sun", 3, (in Step s) => s.Rise - SunOfRise.Of(s.Sky.ClearLags[SkyAndAir.MediumSun][s.Index])),
        new("rise", 20, (in Step s) => s.Rise) { Waves = Harmonics },
        new("3 h change", 20, (in Step s) => ThreeHours.Of(s.Sky.ThreeHourChange[s.Index])) { Waves = Harmonics },
        new("restless air", 3, (in Step s) => s.Sky.Restlessness[s.Index]),
        new("restless air by sun", 3, (in Step s) => s.Sky.Restlessness[s.Index] * s.Bright),
        new("air", 3, (in Step s) => Air.Of(s.AirCelsius)),
        new("air by sun", 3, (in Step s) => Air.Of(s.AirCelsius) * s.Bright),
        .. SkyAndAir.AirLags.Select((hours, lag) => new Term($"air, {hours} h", 3, (in Step s) => Lag.Of(s.Sky.LaggedAir[lag][s.Index] - s.AirCelsius))),
        new("air, 48 h", 20, (in Step s) => Lag.Of(s.Sky.LaggedAir[SkyAndAir.TwoDayAir][s.Index] - s.AirCelsius)) { Waves = Harmonics },
        .. Needing(
            OffsetInputs.Humidity,
            new("humidity", 5, (in Step s) => s.Humidity),
            new("humidity by sun", 5, (in Step s) => s.Humidity * s.Bright),
            new("humidity squared by sun", 5, (in Step s) => s.Humidity * s.Humidity * s.Bright),
            new("humidity", 5, (in Step s) => s.Humidity) { Waves = Harmonics },
            new("humidity squared", 20, (in Step s) => s.Humidity * s.Humidity) { Waves = Harmonics }),
        .. Needing(
            OffsetInputs.Humidity,
            [
                .. SkyAndAir.HumidityLags.SelectMany((hours, lag) => new Term[]
                {
                    new($"humidity, {hours} h", 3, (in Step s) => s.Sky.LaggedHumidity[lag][s.Index]),
                    new($"humidity, {hours} h, by sun", 3, (in Step s) => s.Sky.LaggedHumidity[lag][s.Index] * s.Bright),
                }),
            ]),
        .. Needing(
            OffsetInputs.Wind,
            new("wind", 5, (in Step s) => s.Wind),
            new("wind by sun", 5, (in Step s) => Sun.Of(s.Wind * s.Sun)),
            new("wind", 20, (in Step s) => s.Wind) { Waves = Harmonics }),
        .. Needing(
            OffsetInputs.Solar,
            new("clear sun", 0.5, (in Step s) => s.Bright),
            new("sun, kind's lag", 0.5, (in Step s) => Sun.Of(s.Lag(SkyAndAir.KindsSun))),
            // Halved: both factors are near two at a bright midday.
            new("sun by clear sun", 0.5, (in Step s) => Sun.Of(s.Sun) * s.Bright / 2),
            new("beam", 3, (in Step s) => s.Beam()),
            new("beam", 3, (in Step s) => s.Beam()) { Waves = BeamHarmonics, Knee = 4 },
            new("sun, 2 h", 1.25, (in Step s) => Sun.Of(s.Lag(SkyAndAir.QuickSun))) { Waves = Harmonics }),
        .. Needing(OffsetInputs.Solar, [.. SkyAndAir.ClearnessLags.Select((hours, lag) => new Term($"clearness, {hours} h", 3, (in Step s) => s.Sky.Clearness[lag][s.Index]))]),
    ];

    private delegate double Value(in Step step);

    /// <summary>Name and pull of each feature of a set of inputs, in order; the first is the handbook prior itself.</summary>
    public static IReadOnlyList<Feature> Of(OffsetInputs inputs) =>
        [.. Terms.Where(term => inputs.HasFlag(term.Needs)).SelectMany(term => term.Features())];

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
    public static void Fill(Span<double> features, SkyAndAir sky, HandbookPrior.Ground ground, OffsetInputs inputs, int i)
    {
        var step = new Step(sky, ground, inputs, i);
        Span<double> waves = stackalloc double[2 * BeamHarmonics];
        for (var k = 1; k <= BeamHarmonics; k++)
            (waves[2 * k - 2], waves[2 * k - 1]) = Math.SinCos(2 * Math.PI * k * sky.Grid.SolarHour[i] / 24);
        var next = 0;
        foreach (var term in Terms)
        {
            if (!inputs.HasFlag(term.Needs))
                continue;
            var value = term.Of(step);
            if (term.Waves == 0)
                features[next++] = value;
            for (var wave = 0; wave < 2 * term.Waves; wave++)
                features[next++] = value * waves[wave];
        }
    }

    private static IEnumerable<Term> Needing(OffsetInputs needs, params Term[] terms) => terms.Select(term => term with { Needs = needs });

    /// <summary>A feature.</summary>
    /// <param name="Name">For the analyst.</param>
    /// <param name="Pull">[samples] How strongly its coefficient is drawn to the prior.</param>
    /// <param name="Prior">[K per unit] The coefficient's prior.</param>
    internal readonly record struct Feature(string Name, double Pull, double Prior = 0);

    /// <summary>What a quantity is measured by in its feature.</summary>
    /// <param name="Zero">Where the feature is 0, in the quantity's unit.</param>
    /// <param name="Unit">How much more makes it 1.</param>
    private readonly record struct Scale(double Zero, double Unit)
    {
        public double Of(double value) => (value - Zero) / Unit;
    }

    /// <summary>One feature, or two for each wave of the day.</summary>
    /// <param name="Name">Of the features.</param>
    /// <param name="Pull">[samples] How strongly a coefficient is drawn to its prior.</param>
    /// <param name="Of">Its value at a step; of waves, what they are multiplied with.</param>
    private sealed record Term(string Name, double Pull, Value Of)
    {
        /// <summary>[K per unit] The coefficient's prior.</summary>
        public double Prior { get; init; }

        /// <summary>What has to be known for it.</summary>
        public OffsetInputs Needs { get; init; } = OffsetInputs.AirOnly;

        /// <summary>How many waves a day it is spread over, once a day and faster; 0 is the value itself.</summary>
        public int Waves { get; init; }

        /// <summary>[waves a day] From here finer waves are held more tightly.</summary>
        public double Knee { get; init; } = 3;

        public IEnumerable<Feature> Features()
        {
            if (Waves == 0)
                yield return new(Name, Pull, Prior);
            for (var k = 1; k <= Waves; k++)
            {
                var held = Pull * (1 + Math.Pow(k / Knee, 4));
                yield return new($"{Name}, sin {k}", held);
                yield return new($"{Name}, cos {k}", held);
            }
        }
    }

    /// <summary>A step as the terms look at it.</summary>
    private readonly ref struct Step
    {
        private readonly double[][] _lags;

        public Step(SkyAndAir sky, HandbookPrior.Ground ground, OffsetInputs inputs, int index)
        {
            (Sky, Ground, Index) = (sky, ground, index);
            var grid = sky.Grid;
            var isSunny = inputs.HasFlag(OffsetInputs.Solar);
            _lags = isSunny ? sky.SolarLags : sky.ClearLags;
            Sun = (isSunny ? grid.Solar : grid.Clear)[index];
            Bright = OffsetFeatures.Sun.Of(grid.Clear[index]);
            AirCelsius = grid.Air[index];
            Rise = OffsetFeatures.Rise.Of(AirCelsius - sky.LeastOfNight[index]);
            if (inputs.HasFlag(OffsetInputs.Humidity))
                Humidity = sky.Humidity[index];
            if (!inputs.HasFlag(OffsetInputs.Wind))
                return;
            WindMetersPerSecond = grid.Wind[index];
            Wind = RootOfWind.Of(Math.Sqrt(grid.Wind[index]));
        }

        public SkyAndAir Sky { get; }

        public HandbookPrior.Ground Ground { get; }

        public int Index { get; }

        /// <summary>[W/m²] As measured, where that is among the inputs; else of a clear sky.</summary>
        public double Sun { get; }

        /// <summary>Clear-sky sun, by its scale.</summary>
        public double Bright { get; }

        public double AirCelsius { get; }

        /// <summary>Of the air since the least of the night, by its scale.</summary>
        public double Rise { get; }

        /// <summary>As <see cref="SkyAndAir.Humidity"/>.</summary>
        public double Humidity { get; }

        public double? WindMetersPerSecond { get; }

        /// <summary>Root of the wind, by its scale.</summary>
        public double Wind { get; }

        /// <summary>[W/m²] The sun as it was, see <see cref="SkyAndAir.ClearLags"/>.</summary>
        public double Lag(int lag) => _lags[lag][Index];

        /// <summary>Beam, roughly: what the sky lets through beyond the 30 % that a closed cloud does. By the sun's scale.</summary>
        public double Beam()
        {
            // Near the horizon the share is one of two small numbers; cloud edges can brighten the sun by a tenth.
            var clear = Sky.Grid.Clear[Index];
            var clearness = clear > 20 ? Math.Min(1.1, Sun / clear) : 0;
            return OffsetFeatures.Sun.Of(Sun) * Math.Clamp((clearness - 0.3) / 0.7, 0, 1.2);
        }
    }
}
