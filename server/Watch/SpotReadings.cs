using PavementWatch.Core.Alerts;
using PavementWatch.Core.Contact;
using PavementWatch.Core.Offsets;
using PavementWatch.Core.Readings;
using PavementWatch.Server.Store;
using PavementWatch.Server.Weather;

namespace PavementWatch.Server.Watch;

/// <summary>What was measured at one spot: the last days, and the newest of each kind. Used by one at a time.</summary>
internal sealed class SpotReadings
{
    // Has a surface, good or in doubt.
    private Reading? _newestSurface;

    // Dated later than it was measured, as the clock leapt ahead: how old it is nobody knows.
    private bool _isOfUnknownAge;

    /// <summary>The newest reading of any quality.</summary>
    public Reading? Newest { get; private set; }

    /// <summary>The newest good reading that has a surface.</summary>
    public Reading? NewestGood { get; private set; }

    /// <summary>The newest sound air, which may come without a surface or beside one in doubt.</summary>
    public Reading? NewestAir { get; private set; }

    /// <summary>Its last days in steps.</summary>
    public WeatherRing Weather { get; } = new();

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
        if (reading.SurfaceCelsius is not null && IsNewerOrHotter(reading, _newestSurface))
            (_newestSurface, _isOfUnknownAge) = (reading, false);
        if (reading is { Quality: ReadingQuality.Good, SurfaceCelsius: not null } && IsNewerOrHotter(reading, NewestGood))
            NewestGood = reading;
        if (reading is { HasSoundAir: true, AirCelsius: not null } && IsNewer(reading, NewestAir))
            NewestAir = reading;
    }

    /// <summary>The ground is another now: what was measured on the old one says nothing of it.</summary>
    public void ForgetSurface() => Weather.ForgetSurface();

    /// <summary>The clock was set back: what was measured stays as old as it was, and older than what comes next.</summary>
    /// <param name="by">How far.</param>
    /// <param name="now">Now, by the clock as it is set.</param>
    public void ClockWasSetBack(TimeSpan by, DateTimeOffset now)
    {
        NewestAreOlder(by);
        Weather.ClockWasSetBack(by, now);
    }

    /// <summary>The clock was set back while nobody listened: how old all of it is nobody knows. It says how the spot may be now only where that is too hot.</summary>
    /// <param name="by">How far.</param>
    /// <param name="rule">The spot's.</param>
    public void ClockWasSetBackUnseen(TimeSpan by, AlertRule rule)
    {
        NewestAreOlder(by + rule.SilentAfter);
        Weather.Older(by + rule.SilentAfter);
        if (_newestSurface?.SurfaceCelsius >= rule.LimitCelsius)
            ClockLeaptAhead(rule.SilentAfter);
    }

    /// <summary>The clock leapt ahead: it was set, or the machine slept. What was measured may be of now all the same, and is shown where it is the hotter; alone it only warns.</summary>
    public void ClockLeaptAhead(TimeSpan by)
    {
        if (_newestSurface is { } surface)
            (_newestSurface, _isOfUnknownAge) = (surface with { MeasuredAt = surface.MeasuredAt + by }, true);
    }

    /// <summary>Whether a good reading says how the spot is now.</summary>
    public bool HasGood(DateTimeOffset now, AlertRule rule) => NewestGood is { } good && rule.IsCurrent(good.MeasuredAt, now);

    /// <summary>The reading that says how the spot is now; <c>null</c> when the estimate does.</summary>
    /// <param name="now">UTC.</param>
    /// <param name="rule">The spot's.</param>
    /// <param name="estimated">The estimate, if there is one.</param>
    public Reading? Shown(DateTimeOffset now, AlertRule rule, SurfaceEstimate? estimated)
    {
        var good = HasGood(now, rule) ? NewestGood : null;
        var newest = _newestSurface is { } any && rule.IsCurrent(any.MeasuredAt, now) ? any : null;
        // One in doubt may be right all the same: no spot is shown cooler than its newest reading,
        var otherwise = good?.SurfaceCelsius ?? estimated?.UpperCelsius;
        // but where nothing else is known, one from before a machine's sleep makes no ground comfortable.
        if (otherwise is null && _isOfUnknownAge && !GroundWords.IsWarning(GroundWords.For(newest?.SurfaceCelsius, rule.LimitCelsius)))
            return null;
        if (newest?.SurfaceCelsius > (otherwise ?? double.NegativeInfinity))
            return newest;
        // nor, where that hides no heat, warmer than one that walkers were told of as too cold.
        return newest is not null && AlertMachine.IsBelievedCold(newest, rule.ColdLimitCelsius) && otherwise < GroundWords.WarmFromCelsius
            && newest.SurfaceCelsius < (good?.SurfaceCelsius ?? estimated?.LowerCelsius) ? newest : good;
    }

    private void NewestAreOlder(TimeSpan by)
    {
        Reading? Dated(Reading? reading) => reading is null ? null : reading with { MeasuredAt = reading.MeasuredAt - by };
        (Newest, _newestSurface, NewestGood, NewestAir) = (Dated(Newest), Dated(_newestSurface), Dated(NewestGood), Dated(NewestAir));
    }

    // Of two probes that measure at one moment the hotter counts.
    private static bool IsNewerOrHotter(Reading reading, Reading? than) =>
        IsNewer(reading, than) || (reading.MeasuredAt == than!.MeasuredAt && reading.SurfaceCelsius > than.SurfaceCelsius);

    private static bool IsNewer(Reading reading, Reading? than) => than is null || reading.MeasuredAt > than.MeasuredAt;
}
