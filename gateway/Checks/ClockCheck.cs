using PavementWatch.Gateway.Clock;

namespace PavementWatch.Gateway.Checks;

/// <summary>Whether the time is known, and from whom.</summary>
internal sealed class ClockCheck(IWallClock wall, IEnumerable<IClockChip> chips) : ICheck
{
    public Task<IReadOnlyList<Finding>> RunAsync(CancellationToken cancellationToken)
    {
        List<Finding> findings = [];
        foreach (var chip in chips.Where(chip => chip.IsFitted))
        {
            findings.Add(chip.Read() is { } told
                ? new Finding(Verdict.Good, "clock chip", $"says {told:u}")
                : new Finding(Verdict.Failed, "clock chip", "does not answer or lost its time", "look at its wires, then at its battery"));
        }
        var look = wall.Look();
        findings.Add(look.IsTrusted
            ? new Finding(Verdict.Good, "clock", $"{look.Now:u}")
            : findings.Any(finding => finding.Verdict == Verdict.Good)
                ? new Finding(Verdict.Doubtful, "clock", $"no time service has set it yet ({look.Now:u}); the chip's time is used", "look at the network; 'timedatectl' tells more")
                : new Finding(Verdict.Failed, "clock", $"no time service has set it ({look.Now:u}), so readings are held and not sent",
                    "look at the network and 'timedatectl', or fit a DS3231; on a machine whose clock is always right set Clock:Trust to System"));
        return Task.FromResult<IReadOnlyList<Finding>>(findings);
    }
}
