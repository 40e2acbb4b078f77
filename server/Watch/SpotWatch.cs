using PavementWatch.Core.Alerts;
using PavementWatch.Core.Contact;
using PavementWatch.Core.Offsets;
using PavementWatch.Core.Readings;
using PavementWatch.Core.Surfaces;
using PavementWatch.Dashboards.Spots;
using PavementWatch.Server.Store;
using PavementWatch.Server.Weather;

namespace PavementWatch.Server.Watch;

/// <summary>What the watch knows of one spot. Used by one at a time.</summary>
internal sealed class SpotWatch(Spot spot, AlertMemory memory)
{
    /// <summary>No heat of one day is followed by that of the next within this.</summary>
    private static readonly TimeSpan LongestKept = TimeSpan.FromHours(12);

    /// <summary>The spot as the catalogue has it now; its limit may be changed under way.</summary>
    public Spot Spot { get; private set; } = spot;

    public AlertMemory Memory { get; set; } = memory;

    /// <summary>Whether the memory has changed since it was last written down.</summary>
    public bool Unsaved { get; set; } = true;

    public WeatherRing Weather { get; } = new();

    /// <summary>Readings that the alert machine has not seen yet, in the order they came.</summary>
    public Queue<Reading> Unstepped { get; } = [];

    /// <summary>The newest reading of any quality.</summary>
    public Reading? Newest { get; private set; }

    /// <summary>The newest reading that has a surface, good or in doubt.</summary>
    public Reading? NewestSurface { get; private set; }

    /// <summary>The newest good reading that has a surface.</summary>
    public Reading? NewestGood { get; private set; }

    /// <summary>The newest good air, which may come without a surface.</summary>
    public Reading? NewestAir { get; private set; }

    /// <summary>The estimate for the last tick; <c>null</c> when no air is known.</summary>
    public SurfaceEstimate? Estimate { get; set; }

    /// <summary>[°C] Air lent by the site, for display where the spot has none of its own.</summary>
    public double? LentAirCelsius { get; set; }

    /// <summary>Why it stands where it stands.</summary>
    public string Because { get; set; } = "Nothing has been measured here yet.";

    /// <summary>Takes over how the business describes the spot now. What was measured on other ground says nothing of this one.</summary>
    public void Become(Spot described)
    {
        if (!described.HasGroundOf(Spot))
            Weather.ForgetSurface();
        Spot = described;
    }

    /// <summary>Takes a reading that says nothing of how the spot is now.</summary>
    public void TakeHistory(Reading reading) => Weather.Add(reading);

    /// <summary>Takes a step of the days before, earlier than any reading.</summary>
    public void TakeHistory(ReadingStep step) => Weather.Add(step);

    /// <summary>Takes a reading, dated when it counts.</summary>
    public void Take(Reading reading)
    {
        Weather.Add(reading);
        if (reading.Quality == ReadingQuality.Rejected)
            return;
        if (IsNewer(reading, Newest))
            Newest = reading;
        if (reading.SurfaceCelsius is not null && IsNewerOrHotter(reading, NewestSurface))
            NewestSurface = reading;
        if (reading.Quality != ReadingQuality.Good)
            return;
        if (reading.SurfaceCelsius is not null && IsNewerOrHotter(reading, NewestGood))
            NewestGood = reading;
        if (reading.AirCelsius is not null && IsNewer(reading, NewestAir))
            NewestAir = reading;
    }

    /// <summary>The clock was set back: what was measured and told stays as old as it was, and older than what comes next.</summary>
    /// <param name="by">How far.</param>
    /// <param name="now">Now, by the clock as it is set.</param>
    public void ClockWasSetBack(TimeSpan by, DateTimeOffset now)
    {
        Reading? Dated(Reading? reading) => reading is null ? null : reading with { MeasuredAt = reading.MeasuredAt - by };
        (Newest, NewestSurface, NewestGood, NewestAir) = (Dated(Newest), Dated(NewestSurface), Dated(NewestGood), Dated(NewestAir));
        for (var left = Unstepped.Count; left > 0; left--)
            Unstepped.Enqueue(Dated(Unstepped.Dequeue())!);
        Weather.ClockWasSetBack(by, now);
        (Memory, Unsaved) = (Memory.Earlier(by), true);
    }

    /// <summary>The clock leapt ahead: it was set, or the machine slept. What was measured may be of now all the same, and is shown where it is the hotter.</summary>
    public void ClockLeaptAhead(TimeSpan by)
    {
        if (NewestSurface is { } surface)
            NewestSurface = surface with { MeasuredAt = surface.MeasuredAt + by };
        // After a longer sleep heat is that of another day, which must be told.
        if (by < LongestKept)
            (Memory, Unsaved) = (Memory.ToldLater(by), true);
    }

    /// <summary>The spot as people see it.</summary>
    public SpotNow Now(DateTimeOffset now, AlertRule rule)
    {
        var shown = Shown(now, rule);
        var measured = shown?.SurfaceCelsius;
        var estimate = measured is null ? Estimate : null;
        var measuredAt = (shown ?? NewestGood)?.MeasuredAt ?? Memory.LastGoodAt;
        var word = measured is null
            ? GroundWords.ForEstimate(estimate?.LowerCelsius, estimate?.UpperCelsius, Spot.LimitCelsius, measuredAt is not null)
            : GroundWords.For(measured, Spot.LimitCelsius);
        var shownAir = NewestAir is { } air && rule.IsCurrent(air.MeasuredAt, now) ? air.AirCelsius : LentAirCelsius;
        return new SpotNow(
            Spot.Id, Spot.Name, Spot.Site, Spot.Surface,
            Spot.LatitudeDegrees, Spot.LongitudeDegrees, Spot.LimitCelsius, Spot.RadiusMeters)
        {
            TimeZoneId = Spot.TimeZoneId,
            SurfaceCelsius = measured ?? estimate?.SurfaceCelsius,
            AirCelsius = shownAir,
            Estimated = estimate is not null,
            LowerCelsius = estimate?.LowerCelsius,
            UpperCelsius = estimate?.UpperCelsius,
            MeasuredAt = measuredAt,
            Doubt = Newest?.Doubt ?? Doubt.None,
            EstimateDoubt = DoubtOf(estimate, shownAir),
            Word = word,
            MayBeIcy = word is GroundWord.Freezing or GroundWord.Bitter && MayBeIcy(measured ?? estimate?.LowerCelsius, shownAir),
            ContactTime = word != GroundWord.Unknown && Hottest(shown, estimate, shownAir) is { } celsius ? ContactTime.Limit(celsius) : null,
            State = Memory.State,
            Because = Because,
            Now = now,
        };
    }

    /// <summary>[°C] What skin is to be thought of as touching: the hot end of what is measured or estimated.</summary>
    private double? Hottest(Reading? shown, SurfaceEstimate? estimate, double? airCelsius) => shown?.SurfaceCelsius is { } measured
        ? ReadingUncertainty.UpperCelsius(Spot, measured, shown.AirCelsius ?? airCelsius, shown.HumidityPercent)
        : estimate?.UpperCelsius;

    private bool MayBeIcy(double? coldestCelsius, double? airCelsius) =>
        coldestCelsius is { } celsius && Ice.MayForm(celsius, airCelsius, NewestAir?.HumidityPercent, Newest?.Doubt.HasFlag(Doubt.Wet) ?? false);

    /// <summary>The reading that says how the spot is now; <c>null</c> when the estimate does.</summary>
    private Reading? Shown(DateTimeOffset now, AlertRule rule)
    {
        var good = NewestGood is { } measured && rule.IsCurrent(measured.MeasuredAt, now) ? measured : null;
        var newest = NewestSurface is { } any && rule.IsCurrent(any.MeasuredAt, now) ? any : null;
        // One in doubt may be right all the same: no spot is shown cooler than its newest reading.
        return newest?.SurfaceCelsius > (good?.SurfaceCelsius ?? Estimate?.UpperCelsius ?? double.NegativeInfinity) ? newest : good;
    }

    // The model works on half hours and does not have the one under way until its first minute has come: no reason for
    // doubt while air is at hand.
    private static EstimateDoubt DoubtOf(SurfaceEstimate? estimate, double? airCelsius) =>
        (estimate?.Doubt ?? EstimateDoubt.None) & (airCelsius is null ? (EstimateDoubt)(-1) : ~EstimateDoubt.AirGuessed);

    // Of two probes that measure at one moment the hotter counts.
    private static bool IsNewerOrHotter(Reading reading, Reading? than) =>
        IsNewer(reading, than) || (reading.MeasuredAt == than!.MeasuredAt && reading.SurfaceCelsius > than.SurfaceCelsius);

    private static bool IsNewer(Reading reading, Reading? than) => than is null || reading.MeasuredAt > than.MeasuredAt;
}
