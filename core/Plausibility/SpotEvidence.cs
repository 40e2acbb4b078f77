using PavementWatch.Core.Readings;

namespace PavementWatch.Core.Plausibility;

/// <summary>What the judgement of a spot's readings remembers.</summary>
public sealed record SpotEvidence
{
    /// <summary>So long a reading is remembered.</summary>
    public static readonly TimeSpan Reach = TimeSpan.FromHours(1);

    /// <summary>So long a last believed reading says what the next may be.</summary>
    public static readonly TimeSpan LevelHolds = TimeSpan.FromMinutes(10);

    /// <summary>So long after its last sign wet ground, or a wet window, may hide what is hot.</summary>
    public static readonly TimeSpan WetLasts = TimeSpan.FromHours(1);

    /// <summary>So long what a person has looked at, or what has held, is believed without being explained again.</summary>
    public static readonly TimeSpan AcceptedFor = TimeSpan.FromHours(12);

    // A thermometer in the hand is off by 1.5 K, a probe by about 1; the sun moves between the two. Our choice.
    private const double CheckedKelvin = 3;
    private static readonly TimeSpan CheckedWithin = TimeSpan.FromMinutes(10);

    private const double WetHumidityPercent = 10;
    private const double WetFellKelvin = 3;
    private static readonly TimeSpan WetWithin = TimeSpan.FromMinutes(15);
    private static readonly TimeSpan DriesIn = TimeSpan.FromHours(2);

    /// <summary>Nothing was seen.</summary>
    public static readonly SpotEvidence None = new();

    /// <summary>Readings of the last hour, believed or not, oldest first.</summary>
    public IReadOnlyList<SeenSurface> Recent { get; init; } = [];

    /// <summary>The newest one that was believed.</summary>
    public SeenSurface? Level { get; init; }

    /// <summary>Since when its readings look too cool, UTC.</summary>
    public DateTimeOffset? DoubtedSince { get; init; }

    /// <summary>From where it fell faster than ground can cool; <c>null</c> where it did not.</summary>
    public SeenSurface? FellFrom { get; init; }

    /// <summary>Whether it is in doubt and came there by a fall, as into shade, or that is not known; not by drifting there.</summary>
    public bool FellInShade { get; init; }

    /// <summary>What was doubted before a start and is not known to be over: that it lies under what is expected, and where all that is remembered is doubted, that it fell. It stays until it has come back, is explained, or can be judged anew.</summary>
    public Doubt DoubtedBefore { get; init; }

    /// <summary>Where it was before it jumped up: it may fall back there.</summary>
    public SeenSurface? BeforeJump { get; init; }

    /// <summary>Until when it counts as wet, UTC.</summary>
    public DateTimeOffset? WetUntil { get; init; }

    /// <summary>Until when it is believed though it lies under what is expected, UTC.</summary>
    public DateTimeOffset? AcceptedUntil { get; init; }

    /// <summary>Whether it is believed so by the weather of its site: only then what is known of it says something of others. Else it was a person, its wetness, or time that has passed.</summary>
    public bool AcceptedByWeather { get; init; }

    /// <summary>Whether a fall that the gateway goes on doubting was explained.</summary>
    public bool FallExplained { get; init; }

    /// <summary>When the newest reading was measured, UTC.</summary>
    public DateTimeOffset? NewestAt => Recent.Count > 0 ? Recent[^1].At : null;

    /// <summary>As after a start: from readings that were judged before it.</summary>
    /// <param name="judged">In time order.</param>
    /// <returns>What they tell. What was explained by a person is not among it.</returns>
    public static SpotEvidence Of(IEnumerable<Reading> judged)
    {
        ArgumentNullException.ThrowIfNull(judged);
        var evidence = None;
        foreach (var reading in judged)
        {
            if (reading is not { SurfaceCelsius: { } celsius, Quality: not ReadingQuality.Rejected } || reading.MeasuredAt <= evidence.NewestAt)
                continue;
            var seen = Seen(reading, celsius);
            var isWet = reading.Doubt.HasFlag(Doubt.Wet);
            // All of the hour is kept as wet: what began it, and each sign that came after, has to be found again.
            if (isWet && (!(seen.At < evidence.WetUntil) || evidence.LooksWet(seen)))
                evidence = evidence with { WetUntil = seen.At + WetLasts };
            else if (!isWet && evidence.WetUntil <= seen.At)
                evidence = evidence.Dried(seen.At);
            evidence = evidence.With(seen);
            if (reading.Quality == ReadingQuality.Good)
            {
                evidence = evidence.Believing(seen);
            }
            else if ((reading.Doubt & (Doubt.Spike | Doubt.Disagrees | Doubt.Wet)) != Doubt.None)
            {
                var fell = reading.Doubt.HasFlag(Doubt.Spike) && evidence.Level is { } level && level.SurfaceCelsius > celsius;
                evidence = evidence with
                {
                    DoubtedSince = evidence.DoubtedSince ?? seen.At,
                    FellFrom = evidence.FellFrom ?? (fell ? evidence.Level : null),
                    FellInShade = true,
                    // That it may be cooler was over by then.
                    AcceptedUntil = isWet ? evidence.AcceptedUntil : null,
                    // Whence it fell is known by the last that was believed; what is expected is not yet.
                    DoubtedBefore = evidence.DoubtedBefore | (reading.Doubt & (evidence.Level is null ? Doubt.Spike | Doubt.Disagrees : Doubt.Disagrees)),
                };
            }
        }

        return evidence;
    }

    /// <summary>Somebody has looked and says that it is right. That the ground is wet still hides what comes after.</summary>
    /// <param name="at">When, UTC.</param>
    /// <returns>The same, believing its newest reading and those to come.</returns>
    public SpotEvidence Explained(DateTimeOffset at) => this with
    {
        Level = Recent.Count > 0 ? Recent[^1] : Level,
        DoubtedSince = null,
        FellFrom = null,
        FellInShade = false,
        DoubtedBefore = Doubt.None,
        AcceptedUntil = at + AcceptedFor,
        AcceptedByWeather = false,
        FallExplained = true,
    };

    /// <summary>Somebody has held a thermometer against it.</summary>
    /// <param name="at">When, UTC.</param>
    /// <param name="celsius">[°C] What it is by the thermometer.</param>
    /// <returns>The same; explained where the two agree.</returns>
    public SpotEvidence Checked(DateTimeOffset at, double celsius) =>
        DoubtedSince is not null && Recent.Count > 0
        && (Recent[^1].At - at).Duration() <= CheckedWithin && Math.Abs(Recent[^1].SurfaceCelsius - celsius) <= CheckedKelvin
            ? Explained(at)
            : this;

    /// <summary>The same, dated by a clock that was set.</summary>
    /// <param name="by">How far ahead.</param>
    public SpotEvidence Later(TimeSpan by)
    {
        SeenSurface? Dated(SeenSurface? seen) => seen is null ? null : seen with { At = seen.At + by };
        return this with
        {
            Recent = [.. Recent.Select(seen => seen with { At = seen.At + by })],
            Level = Dated(Level),
            FellFrom = Dated(FellFrom),
            BeforeJump = Dated(BeforeJump),
            DoubtedSince = DoubtedSince + by,
            WetUntil = WetUntil + by,
            AcceptedUntil = AcceptedUntil + by,
        };
    }

    internal static SeenSurface Seen(Reading reading, double celsius) => new(reading.MeasuredAt, celsius)
    {
        AirCelsius = reading.AirCelsius,
        HumidityPercent = reading.HumidityPercent,
        LightLux = reading.LightLux,
        Doubt = reading.Doubt,
    };

    internal SpotEvidence With(SeenSurface seen) => this with { Recent = [.. Recent.Where(r => seen.At - r.At <= Reach), seen] };

    internal SpotEvidence Believing(SeenSurface seen) => this with { Level = seen, DoubtedSince = null, FellFrom = null, FellInShade = false, DoubtedBefore = Doubt.None };

    /// <summary>What explains it holds for a while. What is believed for a reason of its own stays so.</summary>
    internal SpotEvidence Accepted(DateTimeOffset at, DateTimeOffset until, bool byWeather)
    {
        var isOwn = AcceptedUntil > at && !AcceptedByWeather;
        return this with
        {
            AcceptedUntil = isOwn && AcceptedUntil > until ? AcceptedUntil : until,
            AcceptedByWeather = byWeather && !isOwn,
            FallExplained = true,
        };
    }

    /// <summary>The time is over in which wet ground says nothing; as cool as it is now it may be for a while.</summary>
    internal SpotEvidence Dried(DateTimeOffset at) =>
        this with { WetUntil = null, DoubtedSince = null, FellFrom = null, FellInShade = false, DoubtedBefore = Doubt.None, AcceptedUntil = at + DriesIn, AcceptedByWeather = false };

    /// <summary>Whether humidity jumped while the surface dropped.</summary>
    internal bool LooksWet(SeenSurface seen)
    {
        var recent = Since(seen.At - WetWithin).ToList();
        return recent.Count > 0
            && seen.HumidityPercent - recent.Min(r => r.HumidityPercent) >= WetHumidityPercent
            && recent.Max(r => r.SurfaceCelsius) - seen.SurfaceCelsius >= WetFellKelvin;
    }

    /// <summary>Until when rain that was measured makes it wet: where it has dropped within the hour, or is wet already; <c>null</c> where it does not.</summary>
    internal DateTimeOffset? WetByRain(DateTimeOffset rainedAt, SeenSurface seen)
    {
        var until = (rainedAt < seen.At ? rainedAt : seen.At) + WetLasts;
        var dropped = Since(seen.At - Reach).Max(r => (double?)r.SurfaceCelsius) - seen.SurfaceCelsius >= WetFellKelvin;
        return until > seen.At && (dropped || WetUntil > seen.At) ? until : null;
    }

    /// <summary>The readings of a last time, oldest first.</summary>
    internal IEnumerable<SeenSurface> Since(DateTimeOffset first) => Recent.Where(r => r.At >= first);

    /// <summary>The reading nearest to a moment.</summary>
    internal SeenSurface? Near(DateTimeOffset moment, TimeSpan within) =>
        Recent.Where(r => (r.At - moment).Duration() <= within).MinBy(r => (r.At - moment).Duration());
}
