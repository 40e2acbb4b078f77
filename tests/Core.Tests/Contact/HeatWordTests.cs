using PavementWatch.Core.Contact;

namespace PavementWatch.Core.Tests.Contact;

public class HeatWordTests
{
    [Theory]
    //          surface  limit  word                      why
    [InlineData(42.94, 49, HeatWord.Comfortable, "shown as 42.9 °C")]
    [InlineData(42.95, 49, HeatWord.Warm, "shown as 43.0 °C")]
    [InlineData(48.94, 49, HeatWord.Warm, "shown as 48.9 °C")]
    [InlineData(48.96, 49, HeatWord.TooHot, "shown as 49.0 °C")]
    [InlineData(49.0, 49, HeatWord.TooHot, "the limit itself")]
    [InlineData(55.94, 49, HeatWord.TooHot, "shown as 55.9 °C")]
    [InlineData(55.96, 49, HeatWord.BurnsInSeconds, "shown as 56.0 °C")]
    [InlineData(41.0, 41, HeatWord.TooHot, "a limit under what is warm")]
    [InlineData(48.26, 48.25, HeatWord.TooHot, "a limit with two decimals counts whole")]
    public void The_word_is_that_of_the_temperature_as_it_is_shown(double celsius, double limit, HeatWord word, string why) =>
        Assert.True(word == HeatWords.For(celsius, limit), why);
}
