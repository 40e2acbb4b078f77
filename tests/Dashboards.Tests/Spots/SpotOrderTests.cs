using PavementWatch.Core.Alerts;
using PavementWatch.Core.Contact;
using PavementWatch.Core.Readings;
using PavementWatch.Dashboards.Spots;
using PavementWatch.Dashboards.Tests.Hosting;

namespace PavementWatch.Dashboards.Tests.Spots;

/// <summary>Which spots stand first.</summary>
public class SpotOrderTests
{
    [Fact]
    public void For_the_business_what_is_hot_or_icy_stands_first_then_what_is_announced_then_faults_the_unknown_and_the_rest_by_name()
    {
        var spot = Ferngate.Spots(Ferngate.Now)[0] with { State = AlertState.Clear, Doubt = Doubt.None, Word = GroundWord.Comfortable };
        StandingAlert rising = new(AlertSide.Heat, StandingWarning.Rising, Ferngate.Now, 49, 45, null);
        SpotNow[] board =
        [
            spot with { Name = "comfortable" },
            spot with { Name = "a warm one", Word = GroundWord.Warm },
            spot with { Name = "unknown", Word = GroundWord.Unknown },
            spot with { Name = "wet", Doubt = Doubt.Wet },
            spot with { Name = "silent", State = AlertState.Silent },
            spot with { Name = "not watched", WatchFails = true },
            spot with { Name = "rising", State = AlertState.Rising, Standing = [rising] },
            spot with { Name = "freezing", Word = GroundWord.Freezing },
            spot with { Name = "thawing", Word = GroundWord.Cold, MayBeIcy = true },
            spot with { Name = "hot, in doubt", Word = GroundWord.TooHot, Doubt = Doubt.Stuck },
            spot with { Name = "hot", Word = GroundWord.TooHot, State = AlertState.TooHot },
            spot with { Name = "burns", Word = GroundWord.BurnsInSeconds },
        ];
        string[] expected = ["burns", "hot", "hot, in doubt", "freezing", "thawing", "rising", "not watched", "silent", "wet", "unknown", "a warm one", "comfortable"];
        Assert.Equal(expected, SpotOrder.ByNeed(board).Select(s => s.Name));
        Assert.Equal(expected, SpotOrder.ByNeed(board.Reverse()).Select(s => s.Name));
    }

    [Fact]
    public void The_alert_of_the_list_is_what_stands_of_heat_and_of_cold_and_never_clear()
    {
        var spot = Ferngate.Spots(Ferngate.Now)[0] with { State = AlertState.Clear };
        StandingAlert icy = new(AlertSide.Cold, StandingWarning.TooHot, Ferngate.Now, 0, -2, null);
        Assert.Equal("freezing", CardText.Alert(spot with { Word = GroundWord.Freezing, Standing = [icy] }));
        Assert.Equal("soon too hot; freezing", CardText.Alert(spot with { Standing = [new(AlertSide.Heat, StandingWarning.Rising, Ferngate.Now, 49, 45, null), icy] }));
        Assert.Equal("none", CardText.Alert(spot));
        Assert.Equal("silent", CardText.Alert(spot with { State = AlertState.Silent }));
    }
}
