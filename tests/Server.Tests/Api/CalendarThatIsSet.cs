using Microsoft.Extensions.Time.Testing;

namespace PavementWatch.Server.Tests.Api;

/// <summary>A clock that somebody sets: its timers and timestamps go on as they were.</summary>
internal sealed class CalendarThatIsSet(DateTimeOffset start) : FakeTimeProvider(start)
{
    private TimeSpan _ahead;

    public void Set(TimeSpan by) => _ahead += by;

    public override DateTimeOffset GetUtcNow() => base.GetUtcNow() + _ahead;

    public override long GetTimestamp() => base.GetUtcNow().Ticks;
}
