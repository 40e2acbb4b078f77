using System.Globalization;
using PavementWatch.Core.Offsets;
using PavementWatch.Core.Plausibility;
using PavementWatch.Core.Readings;
using PavementWatch.Core.Surfaces;

namespace PavementWatch.Core.Tests.Plausibility;

/// <summary>A day of readings told as a script, by the clock of Ferngate: what each is judged to be.</summary>
internal sealed class ReadingScript(Spot? spot = null)
{
    public static readonly Spot Plaza =
        new(SpotId.Parse("north-gate-plaza"), "North Gate plaza", SurfaceKind.Asphalt, 37.4, -97.0, "America/Chicago") { Site = "North Gate" };

    // Ferngate's summer time is five hours behind UTC.
    private static readonly DateTimeOffset Midnight = new(2026, 7, 14, 5, 0, 0, TimeSpan.Zero);

    private readonly List<Reading> _judged = [];

    public Spot Spot { get; } = spot ?? Plaza;

    public SpotEvidence Evidence { get; set; } = SpotEvidence.None;

    public Explanation Explanation { get; private set; }

    public Reading? Last { get; private set; }

    /// <summary>[°C] What is expected, and how far under it the lower end lies; none unless set.</summary>
    public (double Celsius, double Below)? Expected { get; set; }

    public double? Sun { get; set; }

    public double? Light { get; set; }

    /// <summary>By the clock, when rain was measured last.</summary>
    public string? Rained { get; set; }

    public double Air { get; set; } = 34;

    public double Humidity { get; set; } = 35;

    /// <summary>What its gateway doubts.</summary>
    public Doubt Sent { get; set; }

    public IReadOnlyList<ReadingScript> Neighbours { get; set; } = [];

    public bool AreNeighboursHeard { get; set; } = true;

    public static DateTimeOffset Clock(string clock) => Midnight + TimeSpan.Parse(clock, CultureInfo.InvariantCulture);

    /// <summary>What is remembered after a start, which reads two hours back.</summary>
    public SpotEvidence Restarted(string clock) => SpotEvidence.Of(_judged.Where(r => Clock(clock) - r.MeasuredAt <= TimeSpan.FromHours(2)));

    /// <summary>Reads it once.</summary>
    public ReadingScript At(string clock, double celsius) => At(Clock(clock), celsius);

    /// <summary>The same each minute, both ends included, with the noise of a sensor.</summary>
    public ReadingScript Each(string from, string to, double celsius)
    {
        for (var at = Clock(from); at <= Clock(to); at = at.AddMinutes(1))
            At(at, celsius + (0.1 * Math.Sin(at.Minute)));
        return this;
    }

    /// <summary>From one value to another, a minute at a time, both ends included.</summary>
    public ReadingScript Along(string from, string to, double first, double last)
    {
        var (begin, end) = (Clock(from), Clock(to));
        for (var at = begin; at <= end; at = at.AddMinutes(1))
            At(at, first + ((last - first) * ((at - begin) / (end - begin))));
        return this;
    }

    /// <summary>The last reading is as told.</summary>
    public ReadingScript Expect(Doubt doubt, Explanation? explanation = null)
    {
        Assert.Equal((doubt == Doubt.None ? ReadingQuality.Good : ReadingQuality.Suspect, doubt), (Last!.Quality, Last.Doubt));
        if (explanation is { } expected)
            Assert.Equal(expected, Explanation);
        return this;
    }

    private ReadingScript At(DateTimeOffset at, double celsius)
    {
        var reading = new Reading(Spot.Id, at)
        {
            SurfaceCelsius = celsius,
            AirCelsius = Air,
            HumidityPercent = Humidity,
            LightLux = Light,
            Doubt = Sent,
            Quality = Sent == Doubt.None ? ReadingQuality.Good : ReadingQuality.Suspect,
        };
        var judged = ReadingJudgement.Judge(Evidence, reading, Spot, new Surroundings
        {
            Expected = Expected is var (expected, below) ? new SurfaceEstimate(at, expected, expected - below, expected + below) : null,
            SunFraction = Sun,
            RainedAt = Rained is { } rained ? Clock(rained) : null,
            Neighbours = [.. Neighbours.Select(n => n.Evidence)],
            AreNeighboursHeard = AreNeighboursHeard,
        });
        (Evidence, Last, Explanation) = (judged.Evidence, judged.Reading, judged.Explanation);
        _judged.Add(judged.Reading);
        return this;
    }
}
