using BenchmarkDotNet.Attributes;
using PavementWatch.Core.Offsets;
using PavementWatch.Core.Readings;
using PavementWatch.Core.Surfaces;
using PavementWatch.Core.Weather;

namespace PavementWatch.Benchmarks.Offsets;

/// <summary>
/// One spot with a year of minute readings on one core: the nightly refit of its trailing window (at most 50 ms
/// promised), one estimate (at most 5 µs), and making ready the estimates of one tick.
/// </summary>
[MemoryDiagnoser]
public class OffsetSpeed
{
    private readonly OffsetModel _model = new(new OffsetOptions());
    private readonly Spot _spot = new(
        SpotId.Parse("north-gate-plaza"), "North Gate plaza", SurfaceKind.Asphalt, 37.4, -97.0, "America/Chicago");

    private List<WeatherSample> _year = [];
    private List<WeatherSample> _lastDays = [];
    private List<WeatherSample> _lastDaysInSteps = [];
    private OffsetFit? _fit;
    private OffsetEstimator? _estimator;
    private DateTimeOffset _now;
    private DateTimeOffset[] _halfHourAhead = [];

    /// <summary>Whether the readings hold wind and sun besides air and humidity.</summary>
    [Params(false, true)]
    public bool AllInputs { get; set; }

    [GlobalSetup]
    public void Setup()
    {
        _now = new DateTimeOffset(2030, 7, 14, 12, 0, 0, TimeSpan.Zero);
        _year = YearOfMinutes(_now, AllInputs);
        _lastDays = _year[^(2 * 1440)..];
        _lastDaysInSteps = [.. _lastDays.Where(s => s.At.Minute % 10 == 0)];
        _fit = _model.Fit(_spot, _year, _now);
        _estimator = new OffsetEstimator(_fit, _spot, _lastDays, _now.AddHours(24));
        _halfHourAhead = [.. Enumerable.Range(0, 7).Select(i => _now.AddMinutes(5 * i))];
    }

    [Benchmark(Description = "refit of a spot with a year of minutes")]
    public OffsetFit Refit() => _model.Fit(_spot, _year, _now);

    [Benchmark(Description = "one estimate, made ready")]
    public SurfaceEstimate Estimate() => _estimator!.At(_now.AddMinutes(17));

    [Benchmark(Description = "a tick: seven estimates from two days of ten-minute steps")]
    public IReadOnlyList<SurfaceEstimate> Tick() => _model.Estimate(_fit!, _spot, _lastDaysInSteps, _halfHourAhead);

    [Benchmark(Description = "a day drawn: 1,440 estimates from two days of minutes")]
    public IReadOnlyList<SurfaceEstimate> Day() =>
        _model.Estimate(_fit!, _spot, _lastDays, [.. _lastDays.Skip(1440).Select(s => s.At)]);

    /// <summary>An invented year: sun, air that follows it, clouds of a seeded source.</summary>
    internal static List<WeatherSample> YearOfMinutes(DateTimeOffset end, bool allInputs)
    {
        var random = new Random(42);
        var samples = new List<WeatherSample>(366 * 1440);
        double clearness = 1;
        for (var minute = 365 * 1440; minute >= 0; minute--)
        {
            var at = end.AddMinutes(-minute);
            if (minute % 360 == 0)
                clearness = 0.3 + 0.7 * random.NextDouble();
            var sun = clearness * Math.Max(0, 900 * Math.Sin(2 * Math.PI * ((at.Hour * 60 + at.Minute) / 1440.0 - 0.5)));
            var air = 20 + 0.008 * sun + random.NextDouble();
            samples.Add(new WeatherSample(at, air)
            {
                HumidityPercent = 40 + 20 * random.NextDouble(),
                SurfaceCelsius = air - 2 + 0.026 * sun + random.NextDouble(),
                WindMetersPerSecond = allInputs ? 1 + 3 * random.NextDouble() : null,
                SolarWattsPerSquareMeter = allInputs ? sun : null,
            });
        }

        return samples;
    }
}
