namespace PavementWatch.Server.Watch;

/// <summary>When something was looked at: by the spots' clock, and by that of the machine.</summary>
/// <remarks>By both it must be late: where the spots' clock runs faster than life, or leaps, a look that is under way is not.</remarks>
internal readonly record struct LookAge(long At, long MachineAt)
{
    private static readonly TimeSpan LeastLate = TimeSpan.FromSeconds(30);

    public static LookAge Now(TimeProvider time) => new(time.GetTimestamp(), TimeProvider.System.GetTimestamp());

    /// <summary>Whether it is older than three looks.</summary>
    public bool IsLate(TimeProvider time, WatchOptions options) =>
        time.GetElapsedTime(At) >= options.LateAfter && TimeProvider.System.GetElapsedTime(MachineAt) >= LeastLate;
}
