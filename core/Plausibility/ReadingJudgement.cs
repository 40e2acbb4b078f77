using PavementWatch.Core.Contact;
using PavementWatch.Core.Readings;
using PavementWatch.Core.Statistics;
using PavementWatch.Core.Sun;
using PavementWatch.Core.Surfaces;
using PavementWatch.Core.Weather;

namespace PavementWatch.Core.Plausibility;

/// <summary>A reading that was judged.</summary>
/// <param name="Evidence">What is remembered from here on.</param>
/// <param name="Reading">The reading with what is doubted of it.</param>
/// <param name="Explanation">Why it is believed where it looked too cool.</param>
public sealed record JudgedReading(SpotEvidence Evidence, Reading Reading, Explanation Explanation);

/// <summary>Judges whether a surface reading can be as cool as it says, or stands still while the ground does not.</summary>
/// <remarks>
/// <list type="bullet">
/// <item>What fell faster than ground can cool (<see cref="CoolingGround"/>), or lies under the lower end of what is expected while the sun is up, is doubted: a van's shade, a drooped arm, a wet or webbed window.</item>
/// <item>It is believed when air, sky or a neighbour of the site explains it, or a person or a thermometer says so.</item>
/// <item>While the sun is measured bright, spots that fall together stand in one shade: they do not explain each other.</item>
/// <item>Where neither sun nor a neighbour is measured, it is believed once it has held for as long as slow ground of its kind takes to cool so far, and for an hour on top: most vans are gone then, and an all-clear must hold as long.</item>
/// <item>Humidity that jumps while the surface drops is rain, or a sprinkler, and so is a drop where rain was measured within the hour: wet for an hour after its last sign.</item>
/// <item>What is at the limit or over it is never doubted here, nor what is as warm as expected: no warning waits for a judgement.</item>
/// <item>Nothing is dropped: a doubted reading is kept with its doubt.</item>
/// </list>
/// All spans and thresholds but the physics are of our own choosing; no source.
/// </remarks>
public static class ReadingJudgement
{
    /// <summary>What nobody can be asked of is believed after the time to cool and this.</summary>
    public static readonly TimeSpan Wait = TimeSpan.FromHours(1);

    // With a lower sun little is at stake, and long shadows are every spot's own.
    private const double SunUpDegrees = 10;

    // Nearer to where it was than a cloud takes it.
    private const double ReturnKelvin = 3;

    private const double FellKelvin = 1;
    private const double AirFellKelvin = 3;
    private const double DullFraction = 0.5;
    private const double BrightFraction = 0.7;
    private static readonly TimeSpan WeatherExplains = TimeSpan.FromMinutes(30);

    // Grass falls a quarter as far as asphalt under the same cloud.
    private const double NeighbourShare = 0.25;
    private const double NeighbourFellKelvin = 1.5;
    private static readonly TimeSpan Fresh = TimeSpan.FromMinutes(5);
    private static readonly TimeSpan Together = TimeSpan.FromMinutes(30);
    private static readonly TimeSpan NearBy = TimeSpan.FromMinutes(10);

    // Ground that drifts from what is expected of it, as after a change of season, does not do so in an hour. Our choice.
    private const double ShadeFellKelvin = 4;

    // More than shade warms in an hour.
    private const double RisenKelvin = 5;

    // What is reflected changes with the air, though the sensor stands still.
    private const double StillKelvin = 0.06;
    private const int StillReadings = 4;
    private const double ExpectedMovesKelvin = 1.5;
    private const double NeighbourMovesKelvin = 3;
    private static readonly TimeSpan StillFor = TimeSpan.FromMinutes(5);

    /// <summary>Judges a reading of now.</summary>
    /// <param name="before">What is remembered of the spot.</param>
    /// <param name="reading">The reading, dated when it counts. One that is not newer than the last is left as it is.</param>
    /// <param name="spot">The spot.</param>
    /// <param name="around">What is known beside it.</param>
    /// <returns>The reading, doubted or believed, and what to remember.</returns>
    public static JudgedReading Judge(SpotEvidence before, Reading reading, Spot spot, Surroundings around)
    {
        ArgumentNullException.ThrowIfNull(before);
        ArgumentNullException.ThrowIfNull(reading);
        ArgumentNullException.ThrowIfNull(spot);
        ArgumentNullException.ThrowIfNull(around);
        if (reading is not { SurfaceCelsius: { } celsius, Quality: not ReadingQuality.Rejected } || reading.MeasuredAt <= before.NewestAt)
            return new JudgedReading(before, reading, Explanation.None);

        var seen = SpotEvidence.Seen(reading, celsius) with { ExpectedCelsius = around.Expected?.SurfaceCelsius, LowerCelsius = around.Expected?.LowerCelsius };
        // A wetness that is over by then explains nothing that comes after the heat.
        if (celsius >= spot.LimitCelsius)
            return AsSent(before.WetUntil <= seen.At ? before with { WetUntil = null } : before, seen, reading, spot);

        var moment = new Moment(before, seen, reading, spot, around);
        var wetUntil = before.LooksWet(seen) ? seen.At + SpotEvidence.WetLasts : before.WetUntil;
        if (around.RainedAt is { } rained && before.WetByRain(rained, seen) is { } byRain && !(wetUntil > byRain))
            wetUntil = byRain;
        var stuck = moment.StandsStill() ? Doubt.Stuck : Doubt.None;
        if (seen.At < wetUntil)
            return Doubted(before with { WetUntil = wetUntil, DoubtedSince = before.DoubtedSince ?? seen.At }, seen, reading, Doubt.Wet | stuck);
        if (wetUntil is not null)
            before = before.Dried(seen.At) with { FallExplained = true };
        if (stuck != Doubt.None)
            return Doubted(before, seen, reading, stuck);

        moment = moment with { Before = before };
        if (moment.TooCool() is var doubt && doubt == Doubt.None)
        {
            var explained = wetUntil is not null ? Explanation.WasWet
                : before.DoubtedSince is not null || moment.FellToWhereExpected ? Explanation.Back
                : Explanation.None;
            return AsSent(before with { FallExplained = before.FallExplained || explained != Explanation.None }, seen, reading, spot) with { Explanation = explained };
        }

        before = before with { FellInShade = before.DoubtedSince is null ? moment.FellWithinTheHour : before.FellInShade };
        before = before with { DoubtedSince = before.DoubtedSince ?? seen.At, FellFrom = doubt.HasFlag(Doubt.Spike) ? before.FellFrom ?? before.Level : before.FellFrom };
        moment = moment with { Before = before };
        if (moment.ExplainedBy() is var explanation && explanation == Explanation.None)
            return Doubted(before, seen, reading, doubt);
        var byWeather = explanation != Explanation.HasHeld;
        before = before.Accepted(seen.At, seen.At + (byWeather ? WeatherExplains : SpotEvidence.AcceptedFor), byWeather);
        return AsSent(before, seen, reading, spot) with { Explanation = explanation };
    }

    /// <summary>Believed as far as its gateway believes it; a fall that was explained is not doubted on.</summary>
    private static JudgedReading AsSent(SpotEvidence before, SeenSurface seen, Reading reading, Spot spot)
    {
        var evidence = before.With(seen) with
        {
            FallExplained = before.FallExplained && reading.Doubt.HasFlag(Doubt.Spike),
            // As warm as expected, it has to be explained anew.
            AcceptedUntil = seen.SurfaceCelsius >= seen.ExpectedCelsius || before.AcceptedUntil <= seen.At ? null : before.AcceptedUntil,
        };
        if (before.FallExplained && reading.Doubt == Doubt.Spike)
            reading = reading with { Quality = ReadingQuality.Good, Doubt = Doubt.None };
        if (reading.Quality != ReadingQuality.Good)
            return new JudgedReading(evidence, reading, Explanation.None);
        var jumped = before.Level is { } level && seen.At - level.At <= SpotEvidence.LevelHolds
            && seen.SurfaceCelsius - level.SurfaceCelsius > CoolingGround.MostFallKelvin(spot, level, Between(level, seen));
        var beforeJump = jumped ? before.Level : before.BeforeJump is { } old && seen.At - old.At <= SpotEvidence.Reach ? old : null;
        return new JudgedReading(evidence.Believing(seen with { Doubt = Doubt.None }) with { BeforeJump = beforeJump }, reading, Explanation.None);
    }

    private static JudgedReading Doubted(SpotEvidence before, SeenSurface seen, Reading reading, Doubt doubt) => new(
        before.With(seen with { Doubt = reading.Doubt | doubt }),
        reading with { Quality = ReadingQuality.Suspect, Doubt = reading.Doubt | doubt },
        Explanation.None);

    // A centre may stand for a sample at either end of its interval: allow for one minute more than between the ends.
    private static TimeSpan Between(SeenSurface level, SeenSurface seen) => seen.At - level.At + TimeSpan.FromMinutes(1);

    /// <summary>One reading under the limit beside all that is known.</summary>
    private sealed record Moment(SpotEvidence Before, SeenSurface Seen, Reading Reading, Spot Spot, Surroundings Around)
    {
        private double Celsius => Seen.SurfaceCelsius;

        /// <summary>Whether it came down, from where it was too hot to be true, to where it is expected.</summary>
        public bool FellToWhereExpected => IsAsExpected && Reading.Doubt == Doubt.Spike && Before.Level?.SurfaceCelsius - Celsius > FellKelvin;

        /// <summary>Whether it fell within the hour further than what is expected moves meanwhile.</summary>
        public bool FellWithinTheHour => Before.Recent.Any(r => FellBeyondExpected(r, Seen) >= ShadeFellKelvin);

        private bool IsAsExpected => Celsius >= Around.Expected?.SurfaceCelsius;

        private bool IsBright => SunIsUp && Around.SunFraction >= BrightFraction;

        // A sensor that is unplugged says nothing of the sky.
        private bool IsDull => Around.SunFraction is { } sun && sun <= DullFraction && !UnmeasuredSun.IsTooDark(sun);

        private double SunDegrees => SolarPosition.At(Seen.At, Spot.LatitudeDegrees, Spot.LongitudeDegrees).ElevationDegrees;

        private bool SunIsUp => SunDegrees >= SunUpDegrees;

        // Nor does a light that is stuck.
        private bool LightHasHalved => Seen.LightLux is { } light && !UnmeasuredSun.IsNothingByDay(light, SunDegrees)
            && Before.Recent.Max(r => r.LightLux) is > 0 and var most && light <= DullFraction * most;

        /// <summary>The same for minutes, while the ground is expected to move or a neighbour does.</summary>
        public bool StandsStill()
        {
            var still = Before.Recent.Reverse().TakeWhile(r => Math.Abs(r.SurfaceCelsius - Celsius) <= StillKelvin).ToList();
            if (still.Count + 1 < StillReadings || Seen.At - still[^1].At < StillFor)
                return false;
            var since = still[^1].At;
            return Span([.. still.Append(Seen).Select(r => r.ExpectedCelsius).OfType<double>()]) >= ExpectedMovesKelvin
                || Around.Neighbours.Any(n => Span([.. n.Since(since).Where(r => !r.Doubt.HasFlag(Doubt.Stuck)).Select(r => r.SurfaceCelsius)]) >= NeighbourMovesKelvin);
        }

        /// <summary>Spike where it fell faster than ground can cool and has not come back, Disagrees where it lies under what is expected.</summary>
        public Doubt TooCool()
        {
            if (IsAsExpected)
                return Doubt.None;
            var falls = Before.FellFrom is { } from ? Celsius < Followed(from) - ReturnKelvin : Falls();
            // What jumped up may fall back.
            falls &= !(Celsius >= Before.BeforeJump?.SurfaceCelsius - ReturnKelvin);
            return (falls ? Doubt.Spike : Doubt.None) | (IsUnder() ? Doubt.Disagrees : Doubt.None) | Inherited();
        }

        /// <summary>What explains it.</summary>
        public Explanation ExplainedBy()
        {
            // Evening air falls as far, over ground that a van shades: a neighbour in the sun knows better.
            if (Around.AreNeighboursHeard && Before.Since(Seen.At - SpotEvidence.Reach).Max(r => r.AirCelsius) - Seen.AirCelsius >= AirFellKelvin
                && Around.Neighbours.All(n => Newest(n) is not { } newest || IsUnderItsOwn(n, newest) || Fell(n, newest) >= FellKelvin))
                return Explanation.AirFell;
            if (SunIsUp && (IsDull || LightHasHalved))
                return Explanation.SkyDull;
            if (Around.Neighbours.Any(GoesTheSameWay))
                return Explanation.NeighbourAgrees;
            var canBeAsked = !Around.AreNeighboursHeard || Around.Neighbours.Any(n => Newest(n) is not null) || IsBright;
            return !canBeAsked && Seen.At - Before.DoubtedSince >= CoolingGround.TimeToFall(Spot, FallKelvin ?? double.PositiveInfinity, Seen.At) + Wait
                ? Explanation.HasHeld
                : Explanation.None;
        }

        /// <summary>[K] From where it was, or else from what is expected; <c>null</c> where neither is known.</summary>
        private double? FallKelvin => (Before.FellFrom?.SurfaceCelsius ?? Around.Expected?.SurfaceCelsius) - Celsius;

        private bool Falls()
        {
            if (Before.Level is not { } level || Seen.At - level.At > SpotEvidence.LevelHolds)
                return false;
            var fall = level.SurfaceCelsius - Celsius;
            return fall > CoolingGround.MostFallKelvin(Spot, level, Between(level, Seen))
                // Its gateway saw the samples.
                || (fall > FellKelvin && Reading.Doubt.HasFlag(Doubt.Spike));
        }

        // Of ground that may be cold nobody is to be told too late.
        private bool IsUnder() => Around.Expected is { } expected && Celsius < expected.LowerCelsius
            && expected.LowerCelsius > GroundWords.ComfortableFromCelsius && SunIsUp && !(Seen.At < Before.AcceptedUntil);

        /// <summary>What it was doubted of before all that is remembered, until it has come back from where nobody knows.</summary>
        private Doubt Inherited()
        {
            if (Before.DoubtedBefore == Doubt.None || Celsius - Robust.Median([.. Before.Recent.Select(r => r.SurfaceCelsius)]) >= RisenKelvin)
                return Doubt.None;
            // Where something is expected that speaks, and by night nothing lies under it.
            return Around.Expected is null && SunIsUp ? Before.DoubtedBefore : Before.DoubtedBefore & ~Doubt.Disagrees;
        }

        /// <summary>[°C] Where it fell from, lower by as much as less is expected now.</summary>
        private double Followed(SeenSurface from) =>
            from.SurfaceCelsius + Math.Min(0, Seen.ExpectedCelsius - from.ExpectedCelsius ?? 0);

        /// <summary>Since when neighbours are asked, UTC.</summary>
        private DateTimeOffset Began => Before.FellFrom?.At ?? Seen.At - Together;

        private SeenSurface? Newest(SpotEvidence neighbour) =>
            neighbour.Recent.LastOrDefault(r => (Seen.At - r.At).Duration() <= Fresh && !r.Doubt.HasFlag(Doubt.Stuck));

        private bool GoesTheSameWay(SpotEvidence neighbour)
        {
            if (Newest(neighbour) is not { } newest)
                return false;
            if (IsUnderItsOwn(neighbour, newest) && !(IsBright && IsInShade(neighbour, newest)))
                return true;
            if (IsBright)
                return false;
            var own = FellBeyondExpected(Before.FellFrom ?? Before.Near(Began, NearBy), Seen);
            return own > 0 && Fell(neighbour, newest) >= Math.Max(NeighbourFellKelvin, NeighbourShare * own.Value);
        }

        // What is at its limit is never in doubt, and may be on its way down all the same.
        private static bool IsInShade(SpotEvidence neighbour, SeenSurface newest) =>
            neighbour.FellInShade || neighbour.Recent.Any(r => r.At < newest.At && FellBeyondExpected(r, newest) >= ShadeFellKelvin);

        // One that has been doubted for long is no witness, nor is one that is cool for a reason of its own, as under a tent.
        private bool IsUnderItsOwn(SpotEvidence neighbour, SeenSurface newest) =>
            SunIsUp && newest.SurfaceCelsius < newest.LowerCelsius && !(Before.DoubtedSince - neighbour.DoubtedSince > Together)
            && (neighbour.AcceptedUntil is null || neighbour.AcceptedByWeather);

        /// <summary>[K] How far a neighbour fell meanwhile; <c>null</c> where it is not known.</summary>
        private double? Fell(SpotEvidence neighbour, SeenSurface newest)
        {
            var from = neighbour.Near(Began, NearBy);
            // After a start only since it is known again what is expected: before that it may be the evening.
            if (from is { ExpectedCelsius: null } && newest.ExpectedCelsius is not null)
                from = neighbour.Recent.FirstOrDefault(r => r.At > from.At && r.ExpectedCelsius is not null);
            return FellBeyondExpected(from, newest);
        }

        /// <summary>[K] A fall less what was expected of it, as in the evening.</summary>
        private static double? FellBeyondExpected(SeenSurface? from, SeenSurface to) =>
            from?.SurfaceCelsius - to.SurfaceCelsius - Math.Max(0, from?.ExpectedCelsius - to.ExpectedCelsius ?? 0);

        private static double Span(IReadOnlyList<double> values) => values.Count == 0 ? 0 : values.Max() - values.Min();
    }
}
