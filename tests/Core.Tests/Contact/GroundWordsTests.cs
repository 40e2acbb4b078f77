using CsCheck;
using PavementWatch.Core.Contact;

namespace PavementWatch.Core.Tests.Contact;

public sealed class GroundWordsTests
{
    [Theory]
    [InlineData(-20.0, GroundWord.Bitter)]
    [InlineData(-10.01, GroundWord.Bitter)]
    [InlineData(-10.0, GroundWord.Freezing)]
    [InlineData(0.0, GroundWord.Freezing)]
    [InlineData(0.04, GroundWord.Freezing)] // Shown as 0.0 °C.
    [InlineData(0.06, GroundWord.Cold)]
    [InlineData(4.99, GroundWord.Cold)]
    [InlineData(5.0, GroundWord.Comfortable)]
    [InlineData(42.94, GroundWord.Comfortable)]
    [InlineData(42.96, GroundWord.Warm)] // Shown as 43.0 °C.
    [InlineData(43.0, GroundWord.Warm)]
    [InlineData(48.94, GroundWord.Warm)]
    [InlineData(48.96, GroundWord.TooHot)] // Shown as 49.0 °C.
    [InlineData(49.0, GroundWord.TooHot)]
    [InlineData(55.94, GroundWord.TooHot)]
    [InlineData(55.96, GroundWord.BurnsInSeconds)] // Shown as 56.0 °C.
    [InlineData(56.0, GroundWord.BurnsInSeconds)]
    [InlineData(double.NaN, GroundWord.Unknown)]
    [InlineData(null, GroundWord.Unknown)]
    public void A_temperature_has_its_word(double? celsius, GroundWord word) => Assert.Equal(word, GroundWords.For(celsius, 49));

    [Theory]
    [InlineData(41.0, 41, GroundWord.TooHot, "a limit under what is warm")]
    [InlineData(48.26, 48.25, GroundWord.TooHot, "a limit with two decimals counts whole")]
    public void A_limit_counts_as_it_is(double celsius, double limit, GroundWord word, string why) =>
        Assert.True(word == GroundWords.For(celsius, limit), why);

    [Theory]
    //          lower  upper  ever   word
    [InlineData(-2.0, 6.0, true, GroundWord.Freezing)]
    [InlineData(3.0, 12.0, true, GroundWord.Cold)]
    [InlineData(30.0, 50.0, true, GroundWord.TooHot)]
    [InlineData(30.0, 44.0, true, GroundWord.Warm)]
    [InlineData(30.0, 44.0, false, GroundWord.Unknown)]
    [InlineData(3.0, 12.0, false, GroundWord.Unknown)]
    [InlineData(30.0, 50.0, false, GroundWord.TooHot)]
    [InlineData(-2.0, 6.0, false, GroundWord.Freezing)]
    [InlineData(-5.0, 50.0, true, GroundWord.TooHot)]
    [InlineData(null, 20.0, true, GroundWord.Comfortable)]
    [InlineData(-5.0, null, true, GroundWord.Unknown)]
    public void An_estimate_has_the_graver_word_of_its_ends_and_before_any_reading_only_a_warning(
        double? lower, double? upper, bool everMeasured, GroundWord word) =>
        Assert.Equal(word, GroundWords.ForEstimate(lower, upper, 49, everMeasured));

    [Theory]
    [InlineData(36.0, GroundWord.Unknown)]
    [InlineData(48.9, GroundWord.Unknown)]
    [InlineData(3.0, GroundWord.Unknown)]
    [InlineData(49.0, GroundWord.TooHot)]
    [InlineData(60.0, GroundWord.BurnsInSeconds)]
    [InlineData(-2.0, GroundWord.Freezing)]
    [InlineData(null, GroundWord.Unknown)]
    public void What_may_be_too_cool_is_believed_only_where_it_warns(double? celsius, GroundWord word) => Assert.Equal(word, GroundWords.ForDoubted(celsius, 49));

    [Fact]
    public void A_hotter_surface_never_has_a_colder_word() =>
        Gen.Select(Gen.Double[-60, 120], Gen.Double[0, 50], Gen.Double[30, 52]).Sample((celsius, more, limit) =>
            GroundWords.For(celsius + more, limit) >= GroundWords.For(celsius, limit));

    [Fact]
    public void Every_word_has_its_text_and_gravity()
    {
        var words = Enum.GetValues<GroundWord>();
        Assert.Equal(words.Length, words.Select(GroundWords.Text).Distinct().Count());
        Assert.Equal(
            [GroundWord.BurnsInSeconds, GroundWord.TooHot, GroundWord.Bitter, GroundWord.Freezing, GroundWord.Unknown, GroundWord.Warm, GroundWord.Cold, GroundWord.Comfortable],
            words.OrderByDescending(GroundWords.Gravity));
        Assert.Equal(GroundWord.Cold, GroundWords.Gravest([GroundWord.Unknown, GroundWord.Comfortable, GroundWord.Cold]));
        Assert.Equal(GroundWord.Unknown, GroundWords.Gravest([]));
    }
}
