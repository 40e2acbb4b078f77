using PavementWatch.Dashboards.Texts;

namespace PavementWatch.Dashboards.Tests;

/// <summary>News of several spots of a site in one message.</summary>
public sealed class SiteTextTests
{
    [Theory]
    [InlineData("North Gate plaza=too hot|North Gate steps=too hot", "Orchard Green", "North Gate: plaza and steps too hot; Orchard Green is comfortable")]
    [InlineData("North Gate plaza=too hot|Lane=too hot|Deck=too hot", "", "North Gate: plaza, Lane and Deck too hot")]
    [InlineData("A=too hot|B=too hot|C=too hot|D=too hot", "", "North Gate: A, B and 2 more too hot")]
    [InlineData("A=burns in seconds|B=too hot|C=below its limit again", "D|E", "North Gate: A burns in seconds; B too hot; C below its limit again; D and E are comfortable")]
    [InlineData("North Gate=too hot|North Gateway=too hot", "", "North Gate: North Gate and North Gateway too hot")]
    public void Spots_of_which_the_same_is_said_stand_together(string news, string comfortable, string title) => Assert.Equal(
        title,
        SiteTexts.Title("North Gate", Pairs(news), comfortable.Split('|', StringSplitOptions.RemoveEmptyEntries)));

    [Fact]
    public void Each_spot_has_a_line_and_what_stands_as_before_the_last() => Assert.Equal(
        "Plaza: The ground is at 52 °C (126 °F).\nLane: The ground is at 50 °C (122 °F).\nAs before: deck too hot.",
        SiteTexts.Body("North Gate", Pairs("North Gate plaza=The ground is at 52 °C (126 °F).|Lane=The ground is at 50 °C (122 °F)."), Pairs("North Gate deck=too hot")));

    [Fact]
    public void A_message_stays_short() =>
        Assert.EndsWith("F: f.\nAnd 2 more spots.", SiteTexts.Body("X", Pairs("A=a.|B=b.|C=c.|D=d.|E=e.|F=f.|G=g.|H=h."), []), StringComparison.Ordinal);

    private static (string, string)[] Pairs(string text) => [.. text.Split('|').Select(pair => pair.Split('=')).Select(pair => (pair[0], pair[1]))];
}
