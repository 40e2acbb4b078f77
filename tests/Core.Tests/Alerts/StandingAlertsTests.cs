using PavementWatch.Core.Alerts;
using PavementWatch.Core.Contact;

namespace PavementWatch.Core.Tests.Alerts;

/// <summary>What stands, and for whom it is news. By definition: design of the product, section 9.</summary>
public class StandingAlertsTests
{
    [Theory]
    [InlineData(AlertState.Rising, HotEpisode.None, StandingWarning.Rising)]
    [InlineData(AlertState.TooHot, HotEpisode.Measured, StandingWarning.TooHot)]
    [InlineData(AlertState.Easing, HotEpisode.Measured, StandingWarning.Easing)]
    [InlineData(AlertState.Easing, HotEpisode.None, StandingWarning.None)] // of the day before
    [InlineData(AlertState.Silent, HotEpisode.Estimated, StandingWarning.Estimated)]
    [InlineData(AlertState.Silent, HotEpisode.Measured, StandingWarning.SilentHot)]
    [InlineData(AlertState.Silent, HotEpisode.Lapsed, StandingWarning.None)]
    [InlineData(AlertState.Silent, HotEpisode.None, StandingWarning.None)]
    [InlineData(AlertState.Clear, HotEpisode.None, StandingWarning.None)]
    public void What_stands_is_what_is_remembered(AlertState state, HotEpisode hot, StandingWarning expected) =>
        Assert.Equal(
            (expected, StandingWarning.None),
            (StandingAlerts.Of(new AlertMemory { State = state, Hot = hot }, AlertSide.Heat), StandingAlerts.Of(new AlertMemory { State = state, Hot = hot }, AlertSide.Cold)));

    [Fact]
    public void Heat_and_cold_stand_each_for_itself()
    {
        var thawed = new AlertMemory { State = AlertState.TooHot, Hot = HotEpisode.Measured, Cold = new AlertMemory { State = AlertState.Clear } };
        var frozen = new AlertMemory { State = AlertState.Clear, Cold = new AlertMemory { State = AlertState.Easing, Hot = HotEpisode.Measured } };
        Assert.Equal((StandingWarning.TooHot, StandingWarning.None), (StandingAlerts.Of(thawed, AlertSide.Heat), StandingAlerts.Of(thawed, AlertSide.Cold)));
        Assert.Equal((StandingWarning.None, StandingWarning.Easing), (StandingAlerts.Of(frozen, AlertSide.Heat), StandingAlerts.Of(frozen, AlertSide.Cold)));
    }

    [Fact]
    public void What_stands_has_its_sides_own_begin_limit_and_ice()
    {
        var noon = new DateTimeOffset(2026, 1, 14, 18, 0, 0, TimeSpan.Zero);
        var both = new AlertMemory
        {
            State = AlertState.TooHot,
            Hot = HotEpisode.Measured,
            Since = noon,
            Cold = new AlertMemory { State = AlertState.Easing, Hot = HotEpisode.Measured, Since = noon.AddHours(-9) },
            Ice = new IceMemory(),
        };

        Assert.Equal(new StandingAlert(AlertSide.Heat, StandingWarning.TooHot, noon, 49, 52, null), StandingAlerts.Find(both, AlertSide.Heat, 49, 52, null));
        var thawed = new StandingAlert(AlertSide.Cold, StandingWarning.Easing, noon.AddHours(-9), 3, null, 4) { HasNoIce = true };
        Assert.Equal(thawed, StandingAlerts.Find(both, AlertSide.Cold, 3, null, 4));
        // What is not known of the ice is told as if it lay.
        Assert.Equal(thawed with { HasNoIce = false }, StandingAlerts.Find(both with { Ice = null }, AlertSide.Cold, 3, null, 4));
        Assert.Equal(thawed with { HasNoIce = false }, StandingAlerts.Find(both with { Ice = new IceMemory { IcySince = noon } }, AlertSide.Cold, 3, null, 4));
        Assert.Null(StandingAlerts.Find(both with { Cold = null }, AlertSide.Cold, 3, null, 4));
    }

    [Theory]
    [InlineData(StandingWarning.TooHot, ToldMessage.None, true)]
    [InlineData(StandingWarning.TooHot, ToldMessage.Waiting, false)]
    [InlineData(StandingWarning.TooHot, ToldMessage.Sent, false)]
    [InlineData(StandingWarning.TooHot, ToldMessage.Expired, true)]
    [InlineData(StandingWarning.TooHot, ToldMessage.Unshown, true)]
    [InlineData(StandingWarning.None, ToldMessage.Unshown, false)]
    [InlineData(StandingWarning.TooHot, ToldMessage.Ended, false)]
    [InlineData(StandingWarning.Rising, ToldMessage.None, true)]
    [InlineData(StandingWarning.Estimated, ToldMessage.None, true)]
    [InlineData(StandingWarning.SilentHot, ToldMessage.None, true)]
    [InlineData(StandingWarning.None, ToldMessage.None, false)]
    [InlineData(StandingWarning.None, ToldMessage.Expired, false)]
    public void Each_device_is_told_once_what_stands(StandingWarning standing, ToldMessage told, bool expected) =>
        Assert.Equal(expected, StandingAlerts.IsNews(standing, told));
}
