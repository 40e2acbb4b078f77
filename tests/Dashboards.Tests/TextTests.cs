using PavementWatch.Core.Alerts;
using PavementWatch.Core.Contact;
using PavementWatch.Dashboards.Spots;
using PavementWatch.Dashboards.Tests.Hosting;
using PavementWatch.Dashboards.Texts;
using PavementWatch.Tests;

namespace PavementWatch.Dashboards.Tests;

/// <summary>What people read.</summary>
public class TextTests
{
    [Theory]
    [InlineData(0.0, 32.0, "definition of the Fahrenheit scale: ice")]
    [InlineData(100.0, 212.0, "definition of the Fahrenheit scale: steam")]
    [InlineData(-40.0, -40.0, "definition of the Fahrenheit scale: the two scales meet")]
    [InlineData(49.0, 120.2, "default limit, design section 8")]
    public void Fahrenheit_follows_its_definition(double celsius, double fahrenheit, string source) =>
        Published.Near(fahrenheit, Temperatures.ToFahrenheit(celsius), 1e-9, source);

    [Theory]
    [InlineData(0.0, 32.0, "definition of the Fahrenheit scale: ice")]
    [InlineData(100.0, 212.0, "definition of the Fahrenheit scale: steam")]
    [InlineData(-40.0, -40.0, "definition of the Fahrenheit scale: the two scales meet")]
    public void Celsius_is_made_of_Fahrenheit_by_the_same_definition(double celsius, double fahrenheit, string source) =>
        Published.Near(celsius, Temperatures.FromFahrenheit(fahrenheit), 1e-9, source);

    [Fact]
    public void Interval_is_widened_to_whole_degrees_never_narrowed() =>
        Assert.Equal("41 to 53 °C (107 to 126 °F)", Temperatures.Interval(41.9, 52.2, TemperatureUnit.Both));

    [Theory]
    [InlineData(-300, "just now")]
    [InlineData(9, "just now")]
    [InlineData(10, "10 s ago")]
    [InlineData(59, "50 s ago")]
    [InlineData(60, "1 min ago")]
    [InlineData(3_599, "59 min ago")]
    [InlineData(3_600, "1 h ago")]
    [InlineData(86_399, "23 h 59 min ago")]
    [InlineData(86_400, "1 day ago")]
    [InlineData(172_800, "2 days ago")]
    public void Age_is_rounded_down_to_what_one_can_say(int seconds, string expected) =>
        Assert.Equal(expected, Spans.Ago(TimeSpan.FromSeconds(seconds)));

    [Theory]
    [InlineData(600.0, "not hot enough to hurt skin within 10 min")]
    [InlineData(599.9, "skin is hurt after about 9 min")]
    [InlineData(120.0, "skin is hurt after about 2 min")]
    [InlineData(119.0, "skin is hurt after about 1 min 30 s")]
    [InlineData(60.0, "skin is hurt after about 1 min")]
    [InlineData(44.0, "skin is hurt after about 40 s")]
    [InlineData(9.9, "skin is hurt after about 9 s")]
    [InlineData(0.4, "skin is hurt at once")]
    public void Contact_time_is_rounded_down_and_capped(double seconds, string expected) =>
        Assert.Equal(expected, Spans.Hurt(TimeSpan.FromSeconds(seconds)));

    [Theory]
    [InlineData(GroundWord.Bitter, true, "frost can injure pads within minutes: keep it short; may be icy")]
    [InlineData(GroundWord.Freezing, true, "salt and ice hurt paws: rinse and dry them after; may be icy")]
    [InlineData(GroundWord.Freezing, false, "salt and ice hurt paws: rinse and dry them after")]
    [InlineData(GroundWord.Cold, false, "cold for small, old and thin-coated dogs: keep them moving")]
    [InlineData(GroundWord.Comfortable, false, "skin is hurt after about 4 min")]
    [InlineData(GroundWord.Unknown, false, "treat it as too hot until your hand has told you otherwise")]
    public void A_card_says_what_to_mind_and_never_allows(GroundWord word, bool icy, string expected) =>
        Assert.Equal(expected, CardText.Touch(
            Ferngate.Spots(Ferngate.Now)[0] with { Word = word, MayBeIcy = icy, ContactTime = TimeSpan.FromMinutes(4) }, TemperatureUnit.Both));

    [Theory]
    //          measured hottest spread what is said
    [InlineData(47.6, 52.1, 4.4, "skin is hurt after about 1 min 30 s: it may be at 52.1 °C (126 °F), as readings of this minute differ by ±4 °C (±8 °F)")]
    [InlineData(47.6, 49.6, null, "skin is hurt after about 1 min 30 s: it may be at 49.6 °C (121 °F)")]
    [InlineData(46.0, 48.9, 2.0, "skin is hurt after about 1 min 30 s")]
    [InlineData(50.0, 54.0, 3.0, "skin is hurt after about 1 min 30 s")]
    public void A_card_whose_word_is_milder_than_its_time_says_why(double measured, double hottest, double? spread, string expected)
    {
        var spot = Ferngate.Spots(Ferngate.Now)[0] with { SurfaceCelsius = measured, Word = GroundWords.For(measured, 49) };
        spot = spot with { HottestCelsius = hottest, VaryingKelvin = spread, ContactTime = TimeSpan.FromSeconds(95) };
        Assert.Equal(expected, CardText.Touch(spot, TemperatureUnit.Both));
        // The word of an estimate is that of its hot end.
        Assert.Equal("skin is hurt after about 1 min 30 s", CardText.Touch(spot with { Estimated = true, Word = GroundWord.TooHot }, TemperatureUnit.Both));
    }

    [Fact]
    public void That_a_spot_is_measured_again_is_news_for_an_hour()
    {
        AlertDecision back = new(AlertState.Silent, AlertState.Clear, AlertReason.ReadingsBack, Ferngate.Now.AddMinutes(-59), Notify: false, 41) { LimitCelsius = 49 };
        var spot = Ferngate.Spots(Ferngate.Now)[0] with { SurfaceCelsius = 44, Word = GroundWord.Warm, State = AlertState.Clear, Changed = back };
        Assert.StartsWith("14 July, 13:33: Quarry Steps is measured again: the ground is at 41 °C", CardText.Because(spot, TemperatureUnit.Celsius), StringComparison.Ordinal);
        spot = spot with { Changed = back with { At = Ferngate.Now.AddHours(-3) } };
        Assert.Equal("Measured since 11:32.", CardText.Because(spot, TemperatureUnit.Celsius));
        StandingAlert hot = new(AlertSide.Heat, StandingWarning.TooHot, Ferngate.Now.AddHours(-4), 49, 52, null);
        Assert.Equal("Since 10:32. The ground is at 52 °C, the limit is 49 °C.", CardText.Because(spot with { State = AlertState.TooHot, Standing = [hot] }, TemperatureUnit.Celsius));
        // It is silent again, or the state has changed.
        Assert.Contains("is measured again", CardText.Because(spot with { SurfaceCelsius = null }, TemperatureUnit.Celsius), StringComparison.Ordinal);
    }

    [Fact]
    public void Cards_stand_by_gravity_and_within_the_cold_the_coldest_first()
    {
        var spots = Ferngate.Spots(Ferngate.Now);
        SpotNow Of(int at, GroundWord word, double celsius) => spots[at] with { Word = word, SurfaceCelsius = celsius, Estimated = false };
        SpotNow[] cold = [Of(0, GroundWord.Freezing, -1), Of(1, GroundWord.Warm, 44), Of(2, GroundWord.Freezing, -8), Of(3, GroundWord.Unknown, 20), Of(4, GroundWord.Bitter, -12)];
        Assert.Equal([-12, -8, -1, 20, 44], SpotOrder.ByGravity(cold).Select(s => s.SurfaceCelsius!.Value));
    }

    [Fact]
    public void Unknown_contact_time_has_no_words() => Assert.Equal("", Spans.Hurt(null));

    [Fact]
    public void Moment_of_another_day_carries_its_date()
    {
        var now = new DateTimeOffset(2026, 7, 14, 5, 30, 0, TimeSpan.Zero); // 00:30 in Chicago
        Assert.Equal("00:10", MomentTexts.Moment(now.AddMinutes(-20), now, "America/Chicago"));
        Assert.Equal("13 July 23:30", MomentTexts.Moment(now.AddHours(-1), now, "America/Chicago"));
    }

    [Theory]
    [InlineData("America/Chicago", "2026-07-14 00:30 Chicago time")]
    [InlineData("America/New_York", "2026-07-14 01:30 New York time")]
    [InlineData("Etc/UTC", "2026-07-14 05:30 UTC")]
    [InlineData("Etc/GMT+5", "2026-07-14 00:30 UTC-05:00")]
    [InlineData("Mars/Olympus", "2026-07-14 05:30 UTC")]
    public void Moment_in_full_says_whose_clock_it_is(string zone, string text) =>
        Assert.Equal(text, MomentTexts.InFull(new(2026, 7, 14, 5, 30, 0, TimeSpan.Zero), zone));

    [Theory]
    [InlineData("America/Chicago", "America/Chicago", "America/Chicago")]
    [InlineData("America/Chicago", "America/Denver", "Etc/UTC")]
    public void What_belongs_to_no_spot_is_said_by_the_clock_that_all_spots_share(string first, string second, string expected)
    {
        var board = new TestBoard();
        board.Reset([.. Ferngate.Spots(Ferngate.Now).Take(2).Zip([first, second], (spot, zone) => spot with { TimeZoneId = zone })]);
        Assert.Equal(expected, CommonZone.Of(board));
    }

    [Fact]
    public void Unknown_time_zone_is_shown_as_UTC_and_says_so() =>
        Assert.Equal("05:30 UTC", MomentTexts.Clock(new(2026, 7, 14, 5, 30, 0, TimeSpan.Zero), "Mars/Olympus"));
}
