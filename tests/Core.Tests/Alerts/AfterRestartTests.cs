using PavementWatch.Core.Alerts;
using static PavementWatch.Core.Tests.Alerts.AlertScript;

namespace PavementWatch.Core.Tests.Alerts;

/// <summary>What is remembered over a restart, also of a clock that was set meanwhile. By definition: design of the product, section 9.</summary>
public class AfterRestartTests
{
    private static readonly AlertRule Rule = new();

    [Theory]
    //          kept at  now         told  silence begins anew
    [InlineData("11:00", "11:01", true, false)]
    [InlineData("11:00", "16:59", true, false)]
    [InlineData("11:00", "17:00", false, false)] // six hours away
    [InlineData("11:00", "10:59", true, false)] // by less than a reading's interval
    [InlineData("11:00", "09:00", true, true)] // set back
    [InlineData("11:00", "03:00", true, true)] // by more than six hours, on the same day
    [InlineData("1.02:00", "21:00", true, true)] // over midnight, by less than six hours
    [InlineData("1.11:00", "11:00", false, true)] // to another day
    public void What_was_told_stands_over_a_restart_of_the_day(string kept, string now, bool told, bool anew)
    {
        var (at, there) = (Clock(kept), Clock(now));
        var memory = new AlertMemory { State = AlertState.TooHot, Since = at, LastGoodAt = at, HeatSeenAt = at, Hot = HotEpisode.Measured, HotReadings = 2 };
        var after = memory.AfterRestart(at, there, Rule);
        Assert.Equal(told, after.Hot == HotEpisode.Measured);
        Assert.Equal(anew, after.LastGoodAt == there - Rule.SilentAfter);
        // Whatever it was, it is not dated later than now.
        Assert.True(after.LastGoodAt <= there + Rule.Interval && after.HeatSeenAt <= there + Rule.Interval);
    }
}
