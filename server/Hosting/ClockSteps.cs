namespace PavementWatch.Server.Hosting;

/// <summary>Sees that a clock was set while this process ran: it went on by other than the time that passed. Used by one at a time.</summary>
/// <remarks>A machine that slept looks the same as a clock set ahead. A clock set while the server was down is not seen.</remarks>
internal sealed class ClockSteps(TimeProvider time)
{
    // A thread that was held up between the two looks has seen no step.
    private static readonly TimeSpan AtOnce = TimeSpan.FromMilliseconds(50);

    private (DateTimeOffset Now, long Timestamp) _last = Both(time);

    /// <summary>What the clock said at the last look, UTC.</summary>
    public DateTimeOffset SeenAt => _last.Now;

    /// <summary>How far the clock has leapt since the last look, negative when it was set back; zero for less than a span that does not matter.</summary>
    /// <param name="least">The shortest leap that matters.</param>
    public TimeSpan Look(TimeSpan least)
    {
        var (now, timestamp) = Both(time);
        var ahead = now - _last.Now - time.GetElapsedTime(_last.Timestamp, timestamp);
        _last = (now, timestamp);
        return ahead.Duration() < least ? TimeSpan.Zero : ahead;
    }

    private static (DateTimeOffset Now, long Timestamp) Both(TimeProvider time)
    {
        for (var tries = 1; ; tries++)
        {
            var (before, now, after) = (time.GetTimestamp(), time.GetUtcNow(), time.GetTimestamp());
            if (time.GetElapsedTime(before, after) <= AtOnce || tries == 10)
                return (now, after);
        }
    }
}
