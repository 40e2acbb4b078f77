using PavementWatch.Core.Alerts;
using PavementWatch.Core.Contact;
using PavementWatch.Core.Offsets;
using PavementWatch.Core.Readings;
using PavementWatch.Core.Sun;
using PavementWatch.Core.Surfaces;
using PavementWatch.Core.Weather;
using PavementWatch.Dashboards.Spots;
using PavementWatch.Server.Ingest;
using PavementWatch.Server.Store;
using PavementWatch.Server.Weather;

namespace PavementWatch.Server.Watch;

/// <summary>
/// What the watch knows of one spot. Who has its <see cref="StepLock"/> steps it, alone; readings are heard and shown at any time, and
/// what it lends to others of its site may be asked at any time.
/// </summary>
internal sealed class SpotWatch(Spot spot) : IDisposable
{
    /// <summary>No heat of one day is followed by that of the next within this.</summary>
    private static readonly TimeSpan LongestKept = TimeSpan.FromHours(12);

    /// <summary>[fraction] Of a contact time, from which the shorter one is worth a word. Our choice.</summary>
    private const double ClearlyShorter = 0.8;

    // Guards what is measured and shown; never held for long.
    private readonly Lock _lock = new();
    private readonly SpotReadings _readings = new();
    private readonly Queue<HeardReading> _heard = [];
    private readonly Queue<Reading> _unstepped = [];
    private readonly List<TimeSpan> _clockSteps = [];
    private readonly List<Reading> _late = [];
    private SurfaceEstimate? _estimate;
    private IntervalRecord? _record;
    private double? _lentAirCelsius;
    private AlertDecision? _changeOfHeat;
    private AlertDecision? _changeOfCold;
    private (Spot Of, TimeSpan Walk, AlertRule Rule)? _rule;
    private bool _isCalled;
    private volatile AlertMemory _memory = AlertMemory.Start(default);
    private volatile AlertMemory? _decided;

    /// <summary>The sun over it, as it was looked at before.</summary>
    public SunPath Sun { get; } = new();

    /// <summary>One step at a time; held until what it decided is written.</summary>
    public SemaphoreSlim StepLock { get; } = new(1);

    /// <summary>Whether a step is under way.</summary>
    public bool IsStepping => StepLock.CurrentCount == 0;

    /// <summary>Whether what was known of it at the start has been read.</summary>
    public bool IsLoaded { get; private set; }

    /// <summary>Whether it was taken off the list; another watch begins where it comes back.</summary>
    public bool IsGone { get; private set; }

    /// <summary>Steps in a row that failed.</summary>
    public int Failures { get; private set; }

    /// <summary>The last look at what was heard; ended or under way.</summary>
    public Task Hearing { get; set; } = Task.CompletedTask;

    /// <summary>The spot as the catalogue has it now; its limit may be changed under way.</summary>
    public Spot Spot { get; private set; } = spot;

    /// <summary>The longest walk that is planned here now; an all-clear holds for it.</summary>
    public TimeSpan LongestWalk { get; set; }

    /// <summary>Its rule, made once for the spot as it is described and the walks as they are planned.</summary>
    public AlertRule RuleBy(WatchOptions options)
    {
        lock (_lock)
        {
            if (_rule is not { } rule || rule.Of != Spot || rule.Walk != LongestWalk)
                _rule = rule = (Spot, LongestWalk, options.Rule(Spot, LongestWalk));
            return rule.Rule;
        }
    }

    /// <summary>What the alert machine remembers.</summary>
    public AlertMemory Memory { get => _memory; set => _memory = value; }

    /// <summary>What was decided and is being written: by it is said already what stands, for a message about others of the site may be made meanwhile. <c>null</c> otherwise.</summary>
    public AlertMemory? Decided { get => _decided; set => _decided = value; }

    /// <summary>The memory as the registry has it; <c>null</c> when that is not known.</summary>
    public AlertMemory? Written { get; set; }

    /// <summary>How many readings wait to be stepped.</summary>
    public int Waiting
    {
        get
        {
            lock (_lock)
                return _heard.Count + _unstepped.Count;
        }
    }

    /// <summary>Hears a reading; it is known at once if the spot is loaded, and stepped later.</summary>
    /// <param name="heard">It.</param>
    /// <param name="now">UTC.</param>
    /// <param name="ahead">So far ahead of now it may be dated.</param>
    /// <returns>Whether somebody has to come and step it; <c>false</c> when somebody is on the way.</returns>
    public bool Hear(HeardReading heard, DateTimeOffset now, TimeSpan ahead)
    {
        lock (_lock)
        {
            // Not before what was stored earlier.
            if (IsLoaded)
                Take_NeedsLock(heard, now, ahead);
            else
                _heard.Enqueue(heard);
            return !_isCalled && (_isCalled = true);
        }
    }

    /// <summary>Comes to step it: what is heard from here on calls again.</summary>
    public void Come()
    {
        lock (_lock)
            _isCalled = false;
    }

    /// <summary>Begins with what is remembered of it and was measured, and then with what was heard meanwhile.</summary>
    /// <param name="remembered">What the registry has.</param>
    /// <param name="changes">Its last changes, where there were some.</param>
    /// <param name="steps">The days before, not later than the readings.</param>
    /// <param name="past">Readings that were stepped, dated when they count.</param>
    /// <param name="readings">Readings to be stepped, as far as they are not history; the machine passes over those it knows.</param>
    /// <param name="now">UTC.</param>
    /// <param name="rule">Its rule.</param>
    /// <param name="setBack">How far the clock was set back since the newest of <paramref name="past"/> came; zero where it was not.</param>
    public void Begin(
        AlertMemory? remembered, IReadOnlyList<AlertDecision> changes, IEnumerable<ReadingStep> steps, IEnumerable<Reading> past,
        IEnumerable<HeardReading> readings, DateTimeOffset now, AlertRule rule, TimeSpan setBack)
    {
        lock (_lock)
        {
            (_memory, Written) = (remembered ?? AlertMemory.Start(now), remembered);
            _clockSteps.Clear();
            _late.Clear();
            foreach (var change in changes)
                Changed_NeedsLock(change);
            // What froze while nobody looked may be icy. How old it is by a clock that was set back meanwhile nobody knows.
            var ice = _memory.Ice ?? new();
            var known = setBack == TimeSpan.Zero ? ice.SeenAt ?? DateTimeOffset.MinValue : DateTimeOffset.MaxValue;
            foreach (var step in steps)
            {
                _readings.TakeHistory(step);
                ice = step.End > known ? ice.After(step, rule.LongestIceGap) : ice;
            }

            foreach (var reading in past)
            {
                _readings.Take(reading);
                ice = reading.MeasuredAt > known ? ice.After(reading, rule.LongestIceGap) : ice;
            }

            _memory = _memory with { Ice = ice };
            if (setBack > TimeSpan.Zero)
                _readings.ClockWasSetBackUnseen(setBack, rule);
            foreach (var reading in readings.Concat(_heard))
                Take_NeedsLock(reading, now, rule.Interval);
            _heard.Clear();
            IsLoaded = true;
        }
    }

    /// <summary>The reading to step next, if there is one; it stays until <see cref="Stepped"/>.</summary>
    public bool TryNext(out Reading reading)
    {
        lock (_lock)
            return _unstepped.TryPeek(out reading!);
    }

    /// <summary>The reading was stepped.</summary>
    public void Stepped()
    {
        lock (_lock)
            _unstepped.Dequeue();
    }

    /// <summary>Takes over how the business describes the spot now. What was measured on other ground says nothing of this one.</summary>
    public void Become(Spot described)
    {
        lock (_lock)
        {
            if (!described.HasGroundOf(Spot))
                _readings.ForgetSurface();
            Spot = described;
        }
    }

    /// <summary>What the last tick estimates.</summary>
    /// <param name="estimate">For now; <c>null</c> when no air is known.</param>
    /// <param name="record">How often such estimates held on the last days; <c>null</c> where nobody can tell.</param>
    /// <param name="airCelsius">[°C] Air lent by the site, for display where the spot has none of its own.</param>
    public void Expect(SurfaceEstimate? estimate, IntervalRecord? record, double? airCelsius)
    {
        lock (_lock)
            (_estimate, _record, _lentAirCelsius) = (estimate, record, airCelsius);
    }

    /// <summary>It has changed: from here on this is why it stands where it stands.</summary>
    public void Changed(AlertDecision change)
    {
        lock (_lock)
            Changed_NeedsLock(change);
    }

    /// <summary>A step failed. What was measured still holds; the estimate may be from before the failure, and old news must not pass for cool.</summary>
    public void Failed()
    {
        lock (_lock)
            (Failures, _estimate) = (Failures + 1, null);
    }

    /// <summary>A step succeeded.</summary>
    /// <returns>Whether the one before it had failed.</returns>
    public bool Succeeded()
    {
        lock (_lock)
        {
            var failed = Failures > 0;
            Failures = 0;
            return failed;
        }
    }

    /// <summary>When it was last well measured.</summary>
    public DateTimeOffset? SeenAt
    {
        get
        {
            lock (_lock)
                return _readings.NewestGood?.MeasuredAt;
        }
    }

    /// <summary>Whether it needs air or humidity of others.</summary>
    public bool LacksAir(DateTimeOffset now)
    {
        lock (_lock)
            return _readings.Weather.LacksAir(now);
    }

    /// <summary>Adds its last days to samples, see <see cref="WeatherRing.AddTo"/>.</summary>
    public void AddWeatherTo(List<WeatherSample> samples, DateTimeOffset now, SiteAir? lent, WindAndSun? place)
    {
        lock (_lock)
            _readings.Weather.AddTo(samples, now, lent, place);
    }

    /// <summary>Adds its air to that of its site.</summary>
    public void AddAirTo(SiteAir air)
    {
        lock (_lock)
            _readings.Weather.AddAirTo(air);
    }

    /// <summary>The clock was set back: what was measured and told stays as old as it was, and older than what comes next.</summary>
    /// <param name="by">How far.</param>
    /// <param name="now">Now, by the clock as it is set.</param>
    public void ClockWasSetBack(TimeSpan by, DateTimeOffset now)
    {
        lock (_lock)
        {
            _readings.ClockWasSetBack(by, now);
            Each(_unstepped, reading => reading with { MeasuredAt = reading.MeasuredAt - by });
            Each(_heard, heard => heard with { CountsAt = heard.CountsAt - by });
            for (var i = 0; i < _late.Count; i++)
                _late[i] = _late[i] with { MeasuredAt = _late[i].MeasuredAt - by };
            _clockSteps.Add(-by);
        }
    }

    /// <summary>The clock leapt ahead: it was set, or the machine slept. What was measured may be of now all the same, and is shown where it is the hotter.</summary>
    public void ClockLeaptAhead(TimeSpan by)
    {
        lock (_lock)
        {
            _readings.ClockLeaptAhead(by);
            // After a longer sleep heat is that of another day, which must be told.
            if (by < LongestKept)
                _clockSteps.Add(by);
        }
    }

    /// <summary>What is remembered follows the clock as it was set since the last step, and what came late. With the step lock: a step under way would forget it.</summary>
    /// <param name="rule">The spot's.</param>
    public void CatchUpMemory(AlertRule rule)
    {
        lock (_lock)
        {
            foreach (var step in _clockSteps)
                _memory = step < TimeSpan.Zero ? _memory.Earlier(-step) : _memory.ToldLater(step);
            _clockSteps.Clear();
            foreach (var reading in _late)
                _memory = _memory with { Ice = (_memory.Ice ?? new()).After(reading, rule.LongestIceGap) };
            _late.Clear();
        }
    }

    /// <summary>Shows the spot as it is. One that cannot be loaded is unknown.</summary>
    public void Show(SpotBoard board, DateTimeOffset now, AlertRule rule)
    {
        // What is made later is shown later, whoever shows it.
        lock (_lock)
        {
            if (IsGone)
                return;
            if (!IsLoaded && Failures > 0)
                board.PublishFailing(Spot);
            else
                board.Publish(Now_NeedsLock(now, rule));
        }
    }

    /// <summary>It was taken off the list, and is shown no more.</summary>
    public void Leave()
    {
        lock (_lock)
            IsGone = true;
    }

    /// <summary>Waits for the end of the step that is under way, if one is, but not longer than some time.</summary>
    public async Task StepEndsAsync(TimeSpan longest)
    {
        if (await StepLock.WaitAsync(longest, CancellationToken.None))
            StepLock.Release();
    }

    public void Dispose()
    {
        // A step that hangs ends some time, and opens its lock then.
        if (!IsStepping)
            StepLock.Dispose();
    }

    private void Take_NeedsLock(HeardReading heard, DateTimeOffset now, TimeSpan ahead)
    {
        if (heard.CountsAt is not { } at || at - now > ahead)
        {
            // Dated by another clock it would pass, in minutes or days to come, for what is measured then.
            if (heard.Reading.MeasuredAt - now <= ahead)
            {
                _readings.TakeHistory(heard.Reading);
                _late.Add(heard.Reading);
            }

            return;
        }

        var reading = heard.Reading with { MeasuredAt = at };
        // First of all, so that whatever fails from here on is done again.
        _unstepped.Enqueue(reading);
        _readings.Take(reading);
    }

    private static void Each<T>(Queue<T> queue, Func<T, T> change)
    {
        for (var left = queue.Count; left > 0; left--)
            queue.Enqueue(change(queue.Dequeue()));
    }

    private void Changed_NeedsLock(AlertDecision change)
    {
        if (change.Side == AlertSide.Cold)
            _changeOfCold = change;
        else
            _changeOfHeat = change;
    }

    // What stands is said first, the heat before the cold; where neither stands, what changed last.
    private AlertDecision? LastChange_NeedsLock(AlertRule rule)
    {
        var (heat, cold) = (StandingAlerts.Of(_memory, AlertSide.Heat), StandingAlerts.Of(_memory, AlertSide.Cold));
        var last = _changeOfHeat is null || _changeOfCold is null ? _changeOfHeat ?? _changeOfCold
            : heat != StandingWarning.None ? _changeOfHeat
            : cold != StandingWarning.None ? _changeOfCold
            : _changeOfHeat.At > _changeOfCold.At ? _changeOfHeat : _changeOfCold;
        // Silence and its end are decided once, for the heat; where ice may lie it is the frost that matters.
        return heat == StandingWarning.None && _memory.Ice is { MayBeIcy: true } && last is { Side: AlertSide.Heat, Because: AlertReason.NoGoodReading or AlertReason.ReadingsBack }
            ? last with { Side = AlertSide.Cold, LimitCelsius = rule.ColdLimitCelsius }
            : last;
    }

    private List<StandingAlert> Standing_NeedsLock(double? measured, SurfaceEstimate? estimate, AlertRule rule)
    {
        var memory = _decided ?? _memory;
        List<StandingAlert> standing = [];
        if (StandingAlerts.Find(memory, AlertSide.Heat, rule.LimitCelsius, measured, estimate?.UpperCelsius) is { } heat)
            standing.Add(heat);
        if (StandingAlerts.Find(memory, AlertSide.Cold, rule.ColdLimitCelsius, measured, estimate?.LowerCelsius) is { } cold)
            standing.Add(cold);
        return standing;
    }

    private SpotNow Now_NeedsLock(DateTimeOffset now, AlertRule rule)
    {
        var shown = _readings.Shown(now, rule, _estimate);
        var measured = shown?.SurfaceCelsius;
        var estimate = measured is null ? _estimate : null;
        var measuredAt = (shown ?? _readings.NewestGood)?.MeasuredAt ?? _memory.LastGoodAt;
        // Shown beside a good reading or an estimate it is the hotter of two; alone it may be a van's shade.
        var mayBeTooCool = shown is { MayBeTooCool: true } && _estimate is null && !_readings.HasGood(now, rule);
        var shownAir = _readings.NewestAir is { } air && rule.IsCurrent(air.MeasuredAt, now) ? air.AirCelsius : _lentAirCelsius;
        var spotNow = new SpotNow(
            Spot.Id, Spot.Name, Spot.Site, Spot.Surface,
            Spot.LatitudeDegrees, Spot.LongitudeDegrees, Spot.LimitCelsius, Spot.RadiusMeters)
        {
            TimeZoneId = Spot.TimeZoneId,
            ColdLimitCelsius = rule.ColdLimitCelsius,
            SurfaceCelsius = measured ?? estimate?.SurfaceCelsius,
            AirCelsius = shownAir,
            Estimated = estimate is not null,
            MayBeTooCool = mayBeTooCool,
            LowerCelsius = estimate?.LowerCelsius,
            UpperCelsius = estimate?.UpperCelsius,
            Record = estimate is null ? null : _record,
            MeasuredAt = measuredAt,
            Doubt = _readings.Newest?.Doubt ?? Doubt.None,
            EstimateDoubt = DoubtOf(estimate, shownAir),
            State = _memory.State,
            Changed = LastChange_NeedsLock(rule),
            Standing = Standing_NeedsLock(measured, estimate, rule),
            WatchFails = Failures > 0,
            IcySince = _memory.Ice?.IcySince,
            MayBeIcy = MayBeIcy_NeedsLock(shown, rule),
            Now = now,
        };
        var word = spotNow.WordAt(Spot.LimitCelsius);
        var hottest = word != GroundWord.Unknown ? Hottest(shown, estimate, shownAir) : null;
        return spotNow with
        {
            Word = word,
            ContactTime = hottest is { } celsius ? ContactTime.Limit(celsius) : null,
            HottestCelsius = hottest,
            VaryingKelvin = shown?.SpreadKelvin is { } spread && hottest is not null && IsShortenedBy(spread, shown, hottest.Value, shownAir) ? spread : null,
        };
    }

    /// <summary>[°C] What skin is to be thought of as touching: the hot end of what is measured or estimated.</summary>
    private double? Hottest(Reading? shown, SurfaceEstimate? estimate, double? airCelsius) => shown?.SurfaceCelsius is { } measured
        ? ReadingUncertainty.UpperCelsius(
            Spot, measured, shown.AirCelsius ?? airCelsius, shown.HumidityPercent, shown.SpreadKelvin ?? ReadingUncertainty.UntoldSpreadKelvin)
        : estimate?.UpperCelsius;

    // What is shown before it is stepped counts at once.
    private bool MayBeIcy_NeedsLock(Reading? shown, AlertRule rule)
    {
        var ice = _memory.Ice ?? new();
        return (shown is null ? ice : ice.After(shown, rule.LongestIceGap)).MayBeIcy;
    }

    private bool IsShortenedBy(double spreadKelvin, Reading shown, double hottestCelsius, double? airCelsius) =>
        spreadKelvin > ReadingUncertainty.UntoldSpreadKelvin
        && ContactTime.Limit(hottestCelsius) < ClearlyShorter * ContactTime.Limit(Hottest(shown with { SpreadKelvin = null }, null, airCelsius)!.Value);

    // The model works on half hours and does not have the one under way until its first minute has come: no reason for
    // doubt while air is at hand.
    private static EstimateDoubt DoubtOf(SurfaceEstimate? estimate, double? airCelsius) =>
        (estimate?.Doubt ?? EstimateDoubt.None) & (airCelsius is null ? (EstimateDoubt)(-1) : ~EstimateDoubt.AirGuessed);
}
