using System.Diagnostics;

namespace PavementWatch.Gateway.Clock;

/// <summary>A clock that stands at a chosen moment until it is started, then runs faster than life; its timers fire as much sooner.</summary>
/// <param name="start">What it shows until <see cref="Start"/>.</param>
/// <param name="speed">How many of its seconds pass in one of ours; 1 to <see cref="MaxSpeed"/> inclusive.</param>
internal sealed class AcceleratedTimeProvider(DateTimeOffset start, double speed) : TimeProvider
{
    public const double MaxSpeed = 5_000;

    private readonly Stopwatch _elapsed = new();

    public double Speed { get; } = speed is >= 1 and <= MaxSpeed
        ? speed
        : throw new ArgumentOutOfRangeException(nameof(speed), speed, $"speed must be 1 to {MaxSpeed}");

    public override long TimestampFrequency => TimeSpan.TicksPerSecond;

    public void Start() => _elapsed.Start();

    public override DateTimeOffset GetUtcNow() => start + (_elapsed.Elapsed * Speed);

    public override long GetTimestamp() => (_elapsed.Elapsed * Speed).Ticks;

    public override ITimer CreateTimer(TimerCallback callback, object? state, TimeSpan dueTime, TimeSpan period) =>
        new Scaled(System.CreateTimer(callback, state, Shrink(dueTime), Shrink(period)), Shrink);

    private TimeSpan Shrink(TimeSpan span)
    {
        if (span == Timeout.InfiniteTimeSpan || span <= TimeSpan.Zero)
            return span;
        // The system's timers count whole milliseconds, and a period of none would mean "once".
        var shrunk = span / Speed;
        return shrunk < TimeSpan.FromMilliseconds(1) ? TimeSpan.FromMilliseconds(1) : shrunk;
    }

    private sealed class Scaled(ITimer inner, Func<TimeSpan, TimeSpan> shrink) : ITimer
    {
        public bool Change(TimeSpan dueTime, TimeSpan period) => inner.Change(shrink(dueTime), shrink(period));

        public void Dispose() => inner.Dispose();

        public ValueTask DisposeAsync() => inner.DisposeAsync();
    }
}
