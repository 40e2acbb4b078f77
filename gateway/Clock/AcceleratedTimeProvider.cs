namespace PavementWatch.Gateway.Clock;

/// <summary>A clock that stands at a chosen moment until it is started, then runs faster than life; its timers fire as much sooner.</summary>
/// <remarks>
/// It goes on in steps, each as work on the thread pool like any other. A step is never longer than <see cref="MostStep"/>: on
/// a machine that is busy with something else this time runs slower, instead of leaping over what should have happened in it.
/// One that keeps up with life does leap then: two programs whose clocks shall stay together need that.
/// </remarks>
internal sealed class AcceleratedTimeProvider : TimeProvider, IDisposable
{
    public const double MaxSpeed = 5_000;

    /// <summary>Up to this speed a step is 5 s; above it the system's timers, which count whole milliseconds, would be too coarse.</summary>
    private const double SpeedOfShortSteps = 1_000;

    private readonly Lock _lock = new();
    private readonly HashSet<Timer> _timers = [];
    private readonly DateTimeOffset _start;
    private readonly TimeProvider _life;
    private readonly ITimer _tick;
    private readonly bool _keepsUp;
    private TimeSpan _passedAtTick;
    private long _lifeAtTick;
    private bool _runs;
    private bool _isGone;

    /// <param name="start">What it shows until <see cref="Start"/>.</param>
    /// <param name="speed">How many of its seconds pass in one of ours; 1 to <see cref="MaxSpeed"/> inclusive.</param>
    /// <param name="life">Our time; the system's unless given.</param>
    /// <param name="keepsUp">Whether steps may be longer than <see cref="MostStep"/>.</param>
    public AcceleratedTimeProvider(DateTimeOffset start, double speed, TimeProvider? life = null, bool keepsUp = false)
    {
        Speed = speed is >= 1 and <= MaxSpeed
            ? speed
            : throw new ArgumentOutOfRangeException(nameof(speed), speed, $"speed must be 1 to {MaxSpeed}");
        MostStep = TimeSpan.FromSeconds(5) * Math.Max(1, speed / SpeedOfShortSteps);
        (_start, _life, _keepsUp) = (start, life ?? System, keepsUp);
        _tick = _life.CreateTimer(
            _ => ThreadPool.UnsafeQueueUserWorkItem(clock => clock.Tick(), this, preferLocal: false), null, Timeout.InfiniteTimeSpan, Timeout.InfiniteTimeSpan);
    }

    /// <summary>A clock that is running, and keeps up with life.</summary>
    /// <param name="start">What it showed at <paramref name="since"/>.</param>
    /// <param name="speed">How many of its seconds pass in one of ours.</param>
    /// <param name="since">Our moment at which it began, by the machine's clock; now unless given.</param>
    public static AcceleratedTimeProvider Running(DateTimeOffset start, double speed, DateTimeOffset? since)
    {
        var clock = new AcceleratedTimeProvider(since is { } began ? start + ((System.GetUtcNow() - began) * speed) : start, speed, keepsUp: true);
        clock.Start();
        return clock;
    }

    public double Speed { get; }

    /// <summary>The most of its time that passes between two looks at its timers.</summary>
    public TimeSpan MostStep { get; }

    public override long TimestampFrequency => TimeSpan.TicksPerSecond;

    public void Start()
    {
        lock (_lock)
        {
            _lifeAtTick = _life.GetTimestamp();
            _runs = true;
            Arm_NeedsLock();
        }
    }

    public override DateTimeOffset GetUtcNow() => _start + Passed();

    public override long GetTimestamp() => Passed().Ticks;

    public override ITimer CreateTimer(TimerCallback callback, object? state, TimeSpan dueTime, TimeSpan period)
    {
        var timer = new Timer(this, callback, state);
        timer.Change(dueTime, period);
        return timer;
    }

    public void Dispose()
    {
        lock (_lock)
        {
            _isGone = true;
            _timers.Clear();
            _tick.Dispose();
        }
    }

    private TimeSpan Passed()
    {
        lock (_lock)
            return Passed_NeedsLock();
    }

    private TimeSpan Passed_NeedsLock()
    {
        if (!_runs)
            return _passedAtTick;
        var step = _life.GetElapsedTime(_lifeAtTick) * Speed;
        return _passedAtTick + (_keepsUp || step < MostStep ? step : MostStep);
    }

    private void Tick()
    {
        lock (_lock)
        {
            if (_isGone)
                return;
            _passedAtTick = Passed_NeedsLock();
            _lifeAtTick = _life.GetTimestamp();
            foreach (var timer in _timers.Where(timer => timer.Due <= _passedAtTick).OrderBy(timer => timer.Due).ToList())
            {
                timer.Advance_NeedsLock(_passedAtTick);
                ThreadPool.UnsafeQueueUserWorkItem(fires => fires.Fire(), timer, preferLocal: false);
            }

            Arm_NeedsLock();
        }
    }

    private void Arm_NeedsLock()
    {
        if (!_runs || _isGone)
            return;
        var wait = MostStep / 2;
        foreach (var timer in _timers)
        {
            if (timer.Due - _passedAtTick < wait)
                wait = timer.Due - _passedAtTick;
        }

        wait /= Speed;
        var shortest = TimeSpan.FromMilliseconds(1);
        _tick.Change(wait > shortest ? wait : shortest, Timeout.InfiniteTimeSpan);
    }

    private sealed class Timer(AcceleratedTimeProvider clock, TimerCallback callback, object? state) : ITimer
    {
        private readonly ExecutionContext? _context = ExecutionContext.Capture();
        private TimeSpan _period;
        private bool _isDisposed;

        public TimeSpan Due { get; private set; }

        public bool Change(TimeSpan dueTime, TimeSpan period)
        {
            lock (clock._lock)
            {
                if (_isDisposed || clock._isGone)
                    return false;
                _period = period;
                clock._timers.Remove(this);
                if (dueTime == Timeout.InfiniteTimeSpan)
                    return true;
                Due = clock.Passed_NeedsLock() + dueTime;
                clock._timers.Add(this);
                clock.Arm_NeedsLock();
                return true;
            }
        }

        /// <summary>Its next time; more than one in a step are one, as with the system's timers that come late.</summary>
        public void Advance_NeedsLock(TimeSpan passed)
        {
            if (_period <= TimeSpan.Zero)
                clock._timers.Remove(this);
            else
                Due += _period * Math.Ceiling(Math.Max(1, (passed - Due + TimeSpan.FromTicks(1)) / _period));
        }

        public void Fire()
        {
            lock (clock._lock)
            {
                if (_isDisposed)
                    return;
            }

            if (_context is null)
                callback(state);
            else
                ExecutionContext.Run(_context, tick => callback(tick), state);
        }

        public void Dispose()
        {
            lock (clock._lock)
            {
                _isDisposed = true;
                clock._timers.Remove(this);
            }
        }

        public ValueTask DisposeAsync()
        {
            Dispose();
            return ValueTask.CompletedTask;
        }
    }
}
