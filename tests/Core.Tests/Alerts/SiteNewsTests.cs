using PavementWatch.Core.Alerts;
using PavementWatch.Core.Contact;
using PavementWatch.Core.Readings;

namespace PavementWatch.Core.Tests.Alerts;

/// <summary>What one message says of a site. By definition: design of the product, section 9.</summary>
public class SiteNewsTests
{
    private static readonly DateTimeOffset Noon = new(2026, 7, 14, 17, 0, 0, TimeSpan.Zero);
    private static readonly SpotId Plaza = SpotId.Parse("plaza");
    private static readonly SpotId Steps = SpotId.Parse("steps");
    private static readonly SpotId Green = SpotId.Parse("green");
    private static readonly SpotId Deck = SpotId.Parse("deck");

    [Fact]
    public void A_spot_alone_has_nothing_beside_it()
    {
        var told = Of([Hot(Plaza)], [Now(Plaza, StandingWarning.TooHot), Now(Steps), Now(Green)]);
        Assert.Equal([Hot(Plaza)], told.News);
        Assert.Empty(told.AsBefore);
        Assert.Empty(told.Comfortable);
    }

    [Fact]
    public void Where_several_are_too_hot_a_comfortable_one_is_named()
    {
        var told = Of([Hot(Plaza), Hot(Steps)], [Now(Plaza, StandingWarning.TooHot), Now(Steps, StandingWarning.TooHot), Now(Green)]);
        Assert.Equal([Green], told.Comfortable);
    }

    [Theory]
    [InlineData(GroundWord.Comfortable, true, StandingWarning.None, "an estimate")]
    [InlineData(GroundWord.Warm, false, StandingWarning.None, "warm")]
    [InlineData(GroundWord.Unknown, false, StandingWarning.None, "unknown")]
    [InlineData(GroundWord.Cold, false, StandingWarning.None, "cold")]
    [InlineData(GroundWord.Comfortable, false, StandingWarning.Easing, "not called off")]
    [InlineData(GroundWord.Comfortable, false, StandingWarning.Rising, "about to be too hot")]
    public void Nobody_is_sent_to_ground_that_may_not_be_comfortable(GroundWord word, bool estimated, StandingWarning standing, string why) =>
        Assert.True(
            Of([Hot(Plaza), Hot(Steps)], [Now(Green, standing) with { Word = word, Estimated = estimated }]).Comfortable.Count == 0, why);

    [Fact]
    public void Two_comfortable_ones_are_enough() => Assert.Equal(
        [Green, Deck], Of([Hot(Plaza), Hot(Steps)], [Now(Green), Now(Deck), Now(SpotId.Parse("lawn"))]).Comfortable);

    [Fact]
    public void What_the_device_was_told_before_and_still_stands_is_said_again()
    {
        SiteSpot[] site = [Now(Steps, StandingWarning.Easing), Now(Deck, StandingWarning.TooHot), Now(Green)];
        var told = Of([Hot(Plaza)], site, Steps, Deck, Green);
        Assert.Equal([(Deck, StandingWarning.TooHot), (Steps, StandingWarning.Easing)], told.AsBefore.Select(s => (s.Spot, s.Standing.Warning)));
        // Of the others it has heard nothing, and hears nothing beside this.
        Assert.Empty(Of([Hot(Plaza)], site).AsBefore);
    }

    [Fact]
    public void The_most_pressing_comes_first()
    {
        SpotNews[] news =
        [
            new(Green, AlertState.Clear, true), new(Steps, AlertState.Rising, false), new(Deck, AlertState.Silent, true),
            new(SpotId.Parse("lane"), AlertState.Silent, false), Hot(Plaza),
        ];
        Assert.Equal(["plaza", "lane", "steps", "green", "deck"], Of(news, []).News.Select(n => n.Spot.Value));
    }

    [Fact]
    public void When_all_is_over_nobody_is_sent_elsewhere() =>
        Assert.Empty(Of([new(Plaza, AlertState.Clear, true), new(Steps, AlertState.Clear, true)], [Now(Green)]).Comfortable);

    private static SiteNews Of(IReadOnlyList<SpotNews> news, IReadOnlyList<SiteSpot> site, params SpotId[] told) => SiteNews.Of(news, site, told.ToHashSet());

    private static SpotNews Hot(SpotId spot) => new(spot, AlertState.TooHot, false);

    private static SiteSpot Now(SpotId spot, StandingWarning standing = StandingWarning.None) => new(
        spot, standing == StandingWarning.None ? [] : [new StandingAlert(AlertSide.Heat, standing, Noon, 49, 52, null)],
        standing == StandingWarning.None ? GroundWord.Comfortable : GroundWord.TooHot, Estimated: false);
}
