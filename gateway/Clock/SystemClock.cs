using System.Diagnostics.CodeAnalysis;
using System.Runtime.InteropServices;
using Microsoft.Extensions.Options;

namespace PavementWatch.Gateway.Clock;

/// <summary>The machine's own clock, and whether it is to be believed.</summary>
internal interface IWallClock
{
    /// <summary>The boot we are in; differs after every restart of the machine.</summary>
    string Boot { get; }

    /// <summary>Time since that boot, by the clock nobody can set.</summary>
    TimeSpan SinceBoot { get; }

    /// <summary>Calendar and time since boot of one and the same moment.</summary>
    WallLook Look();
}

/// <summary>One look at the clocks.</summary>
/// <param name="SinceBoot">Time since boot.</param>
/// <param name="Now">What the calendar says then.</param>
/// <param name="IsTrusted">Whether the calendar is to be believed.</param>
internal readonly record struct WallLook(TimeSpan SinceBoot, DateTimeOffset Now, bool IsTrusted);

/// <summary>The clock of the machine, or of a simulation when the host has another <see cref="TimeProvider"/>.</summary>
internal sealed class SystemClock : IWallClock
{
    /// <summary>No machine runs this program earlier, so an earlier calendar was never set.</summary>
    public static readonly DateTimeOffset Earliest = new(2025, 1, 1, 0, 0, 0, TimeSpan.Zero);

    private const string BootIdFile = "/proc/sys/kernel/random/boot_id";

    /// <summary>Return value of <c>ntp_gettime</c> while nobody keeps the clock (adjtimex(2), <c>TIME_ERROR</c>).</summary>
    private const int NotKept = 5;

    private static readonly TimeSpan NarrowEnough = TimeSpan.FromMilliseconds(100);

    private readonly TimeProvider _time;
    private readonly bool _askKernel;

    public SystemClock(TimeProvider time, IOptions<ClockOptions> options)
    {
        _time = time;
        var isMachines = ReferenceEquals(time, TimeProvider.System);
        // A simulated day is always set; on Linux the timestamp of the system's provider counts from boot.
        _askKernel = isMachines && OperatingSystem.IsLinux() && options.Value.Trust == ClockTrust.Network;
        Boot = isMachines && File.Exists(BootIdFile) ? File.ReadAllText(BootIdFile).Trim()[..13] : Guid.NewGuid().ToString("n")[..13];
    }

    public string Boot { get; }

    public TimeSpan SinceBoot => _time.GetElapsedTime(0, _time.GetTimestamp());

    public WallLook Look()
    {
        // The two cannot be read at once, and a busy machine may pause us between them; where a simulated day runs
        // 600 times faster than life that would look like a clock that jumps. The narrowest of a few looks is taken.
        var narrowest = TimeSpan.MaxValue;
        (TimeSpan SinceBoot, DateTimeOffset Now) look = default;
        for (var i = 0; i < 20 && narrowest > NarrowEnough; i++)
        {
            var before = SinceBoot;
            var now = _time.GetUtcNow();
            var width = SinceBoot - before;
            if (width < narrowest)
                (narrowest, look) = (width, (before + (width / 2), now));
        }
        return new WallLook(look.SinceBoot, look.Now, look.Now >= Earliest && (!_askKernel || IsKept()));
    }

    /// <summary>Whether the kernel says that a time service keeps its clock.</summary>
    public static bool IsKept() => NtpGetTime(new byte[256]) != NotKept;

    [DllImport("libc", EntryPoint = "ntp_gettime", ExactSpelling = true)]
    [DefaultDllImportSearchPaths(DllImportSearchPath.SafeDirectories)]
    [SuppressMessage("Interoperability", "SYSLIB1054", Justification = "The generated form needs unsafe code for the whole project")]
    private static extern int NtpGetTime([Out] byte[] time);
}
