using CsCheck;
using PavementWatch.Core.Names;

namespace PavementWatch.Core.Tests.Names;

public sealed class NameRuleTests
{
    [Theory]
    [InlineData("North Gate plaza", "plain words")]
    [InlineData("Jörg O’Neill-Ñandú 3", "letters of other languages, signs, digits")]
    [InlineData("公園の北門", "another script")]
    [InlineData("Pickle 🐕‍🦺", "a picture made of two with a joiner")]
    [InlineData("a", "shortest")]
    public void A_line_of_text_is_a_name(string name, string why) => Assert.True(NameRule.Fault("name", name) is null, why);

    [Theory]
    [InlineData(null, "name has 0 characters, expected 1 to 80")]
    [InlineData("", "name has 0 characters, expected 1 to 80")]
    [InlineData("North\nGate", "holds a line break")]
    [InlineData("North\r", "holds a line break")]
    [InlineData("North\u0085Gate", "holds a line break")]
    [InlineData("North\u2028Gate", "holds a line break")]
    [InlineData("North\u2029Gate", "holds a line break")]
    [InlineData("North\tGate", "another control character")]
    [InlineData("North\u0000", "another control character")]
    [InlineData("\u001b[2J", "another control character")]
    [InlineData("gpj.\u202Eplaza", "not seen (U+202E)")]
    [InlineData("\uFEFFPlaza", "not seen (U+FEFF)")]
    [InlineData(" Plaza", "begins or ends with a space")]
    [InlineData("Plaza\u00A0", "begins or ends with a space")]
    [InlineData(" ", "begins or ends with a space")]
    public void What_is_no_line_of_text_is_named(string? name, string says) =>
        Assert.Contains(says, NameRule.Fault("name", name), StringComparison.Ordinal);

    [Theory]
    // Half a pair is no text, so a row names its number.
    [InlineData(0xD83D, "not seen (U+D83D)")]
    [InlineData(0xDC15, "not seen (U+DC15)")]
    public void Half_a_surrogate_pair_is_named(int half, string says) =>
        Assert.Contains(says, NameRule.Fault("name", $"Plaza{(char)half}"), StringComparison.Ordinal);

    [Fact]
    public void Eighty_characters_are_a_name_and_one_more_is_none()
    {
        Assert.Null(NameRule.Fault("site", new string('x', 80)));
        Assert.Equal("site has 81 characters, expected 1 to 80", NameRule.Fault("site", new string('x', 81)));
    }

    [Fact]
    public void No_name_breaks_a_line_whatever_is_tried() =>
        Gen.String.Sample(text =>
        {
            if (NameRule.Fault("name", text) is null)
                Assert.DoesNotContain(text, c => char.IsControl(c) || c is '\u2028' or '\u2029');
        });
}
