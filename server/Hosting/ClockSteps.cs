namespace PavementWatch.Server.Hosting;

/// <summary>Sees that a clock was set while this process ran: it went on by other than the time that passed. Used by one at a time.</summary>
/// <remarks>A machine that slept looks the same as a clock set ahead. A clock set while the server was down is not seen.</remarks>
internal sealed class ClockSteps(TimeProvider time)
{
    private (DateTimeOffset Now, long Timestamp) _last = (time.GetUtcNow(), time.GetTimestamp());

    /// <summary>How far the clock has leapt since the last look, negative when it was set back; zero for less than a span that does not matter.</summary>
    /// <param name="least">The shortest leap that matters.</param>
    public TimeSpan Look(TimeSpan least)
    {
        var (now, timestamp) = (time.GetUtcNow(), time.GetTimestamp());
        var ahead = now - _last.Now - time.GetElapsedTime(_last.Timestamp, timestamp);
        _last = (now, timestamp);
        return ahead.Duration() < least ? TimeSpan.Zero : ahead;
    }
}
