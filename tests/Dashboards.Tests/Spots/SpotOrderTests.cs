using PavementWatch.Core.Alerts;
using PavementWatch.Core.Readings;
using PavementWatch.Dashboards.Spots;
using PavementWatch.Dashboards.Tests.Hosting;

namespace PavementWatch.Dashboards.Tests.Spots;

/// <summary>Which spots stand first.</summary>
public class SpotOrderTests
{
    [Fact]
    public void For_the_business_silent_ones_stand_first_then_those_in_doubt_and_the_rest_keep_their_order()
    {
        var spot = Ferngate.Spots(Ferngate.Now)[0] with { State = AlertState.Clear, Doubt = Doubt.None };
        SpotNow[] board =
        [
            spot with { Name = "hot", State = AlertState.TooHot },
            spot with { Name = "clear" },
            spot with { Name = "wet", Doubt = Doubt.Wet },
            spot with { Name = "silent", State = AlertState.Silent },
            spot with { Name = "silent and in doubt", State = AlertState.Silent, Doubt = Doubt.Stuck },
        ];
        Assert.Equal(["silent and in doubt", "silent", "wet", "hot", "clear"], SpotOrder.ByNeed(board).Select(s => s.Name));
    }
}
