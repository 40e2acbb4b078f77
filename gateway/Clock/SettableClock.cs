namespace PavementWatch.Gateway.Clock;

/// <summary>A clock that can be set, as somebody sets a machine's: the calendar steps, the time since boot and the timers run on.</summary>
/// <param name="inner">What it follows.</param>
internal sealed class SettableClock(TimeProvider inner) : TimeProvider
{
    private long _aheadTicks;

    public override long TimestampFrequency => inner.TimestampFrequency;

    /// <summary>Sets it forward, or back where negative.</summary>
    public void Step(TimeSpan by) => Interlocked.Add(ref _aheadTicks, by.Ticks);

    public override DateTimeOffset GetUtcNow() => inner.GetUtcNow().AddTicks(Interlocked.Read(ref _aheadTicks));

    public override long GetTimestamp() => inner.GetTimestamp();

    public override ITimer CreateTimer(TimerCallback callback, object? state, TimeSpan dueTime, TimeSpan period) =>
        inner.CreateTimer(callback, state, dueTime, period);
}
