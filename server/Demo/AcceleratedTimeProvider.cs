using System.Diagnostics;

namespace PavementWatch.Server.Demo;

/// <summary>A clock that starts at a chosen moment and runs faster than life; its timers fire as much sooner.</summary>
/// <param name="start">What it shows when it is made.</param>
/// <param name="speed">How many of its seconds pass in one of ours; 1 to 10,000 inclusive.</param>
internal sealed class AcceleratedTimeProvider(DateTimeOffset start, double speed) : TimeProvider
{
    public const double MaxSpeed = 10_000;

    private readonly long _began = Stopwatch.GetTimestamp();

    public double Speed { get; } = speed is >= 1 and <= MaxSpeed
        ? speed
        : throw new ArgumentOutOfRangeException(nameof(speed), speed, $"speed must be 1 to {MaxSpeed}");

    public override long TimestampFrequency => Stopwatch.Frequency;

    public override DateTimeOffset GetUtcNow() => start + (Stopwatch.GetElapsedTime(_began) * Speed);

    public override long GetTimestamp() => (long)((Stopwatch.GetTimestamp() - _began) * Speed);

    public override ITimer CreateTimer(TimerCallback callback, object? state, TimeSpan dueTime, TimeSpan period) =>
        new Scaled(System.CreateTimer(callback, state, Shrink(dueTime), Shrink(period)), Shrink);

    private TimeSpan Shrink(TimeSpan span)
    {
        if (span == Timeout.InfiniteTimeSpan || span <= TimeSpan.Zero)
            return span;
        // A period of zero would mean "once".
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
