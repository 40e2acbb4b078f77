using PavementWatch.Core.Alerts;

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
