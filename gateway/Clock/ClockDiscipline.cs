namespace PavementWatch.Gateway.Clock;

/// <summary>What one look at the system's clock changed.</summary>
internal enum ClockChange
{
    /// <summary>Nothing to tell anybody.</summary>
    None = 0,

    /// <summary>The time is known from now on: what was held can be dated.</summary>
    Known,

    /// <summary>The clock was set forward: what has not been sent was dated too early and is dated anew.</summary>
    SteppedForward,

    /// <summary>The clock was set back a little: ours runs slower until the two agree, so no moment comes twice.</summary>
    SlowingDown,

    /// <summary>The clock was set back by more than can be made up: what has not been sent is dated anew.</summary>
    SteppedBack,
}

/// <summary>
/// Turns a wall clock that may be unset, jump forward and jump back into moments that only ever rise. Pure: it is
/// told the time since boot, which nobody can set, and what the wall clock says.
/// </summary>
/// <remarks>
/// Backward jumps up to <see cref="MostMadeUp"/> are made up at half speed. After longer ones, up to
/// <see cref="MostRepeated"/>, moments come a second time; <see cref="RepeatsUntil"/> says how long, so that their
/// readings can be told apart from the first. Further back, the clock was wrong before: the server takes no readings
/// far ahead of its own clock (<see cref="Core.Wire.ReadingPack.MostAhead"/>), so it has none to be mixed up with.
/// </remarks>
internal sealed class ClockDiscipline
{
    /// <summary>Furthest the wall clock may go back and be made up by running slowly.</summary>
    public static readonly TimeSpan MostMadeUp = TimeSpan.FromHours(1);

    /// <summary>Furthest back a clock may be set for its moments to be taken as coming a second time.</summary>
    public static readonly TimeSpan MostRepeated = TimeSpan.FromDays(1);

    /// <summary>Differences up to this are the ordinary life of a clock; not told to anybody.</summary>
    public static readonly TimeSpan Ordinary = TimeSpan.FromSeconds(2);

    private readonly DateTimeOffset? _notBefore;
    private TimeSpan _last;

    /// <param name="notBefore">The latest moment given out before a restart; <c>null</c> when there was none.</param>
    public ClockDiscipline(DateTimeOffset? notBefore = null) => _notBefore = notBefore;

    /// <summary>The moment of boot as now believed; <c>null</c> while no time is known.</summary>
    public DateTimeOffset? BootedAt { get; private set; }

    /// <summary>How far our moments run ahead of the wall clock while a backward jump is made up.</summary>
    public TimeSpan Ahead { get; private set; }

    /// <summary>Until here moments come a second time; <c>null</c> when none do.</summary>
    public DateTimeOffset? RepeatsUntil { get; private set; }

    /// <summary>Takes one look.</summary>
    /// <param name="sinceBoot">Time since boot; never falls.</param>
    /// <param name="wall">What the wall clock says; <c>null</c> while it is not to be trusted.</param>
    public ClockChange Observe(TimeSpan sinceBoot, DateTimeOffset? wall)
    {
        var elapsed = sinceBoot - _last;
        _last = sinceBoot;
        if (wall is not { } now)
            return ClockChange.None;
        if (BootedAt is null)
        {
            BootedAt = now - sinceBoot;
            if (_notBefore is { } floor && floor > now && floor - now <= MostMadeUp)
            {
                BootedAt += floor - now;
                Ahead = floor - now;
            }
            else
            {
                Repeat(now, _notBefore);
            }
            return ClockChange.Known;
        }
        var ahead = BootedAt.Value + sinceBoot - now;
        if (ahead <= TimeSpan.Zero || ahead > MostMadeUp)
        {
            if (ahead > TimeSpan.Zero)
                Repeat(now, now + ahead);
            BootedAt = now - sinceBoot;
            Ahead = TimeSpan.Zero;
            return ahead > TimeSpan.Zero ? ClockChange.SteppedBack
                : ahead < -Ordinary ? ClockChange.SteppedForward
                : ClockChange.None;
        }
        var wasSlow = Ahead > Ordinary;
        var madeUp = ahead < elapsed / 2 ? ahead : elapsed / 2;
        BootedAt -= madeUp;
        Ahead = ahead - madeUp;
        return Ahead > Ordinary && !wasSlow ? ClockChange.SlowingDown : ClockChange.None;
    }

    private void Repeat(DateTimeOffset now, DateTimeOffset? until)
    {
        // Set back twice, the moments of both times come again.
        if (until > now && until - now <= MostRepeated && !(RepeatsUntil > until))
            RepeatsUntil = until;
    }
}
