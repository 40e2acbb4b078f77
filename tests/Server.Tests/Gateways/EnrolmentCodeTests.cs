using CsCheck;
using PavementWatch.Server.Gateways;

namespace PavementWatch.Server.Tests.Gateways;

public sealed class EnrolmentCodeTests
{
    private const string Signs = "0123456789ABCDEFGHJKMNPQRSTVWXYZ";

    [Fact]
    public void New_codes_are_ten_signs_with_a_dash_and_differ()
    {
        var codes = Enumerable.Range(0, 1000).Select(_ => EnrolmentCode.New()).ToList();

        Assert.All(codes, code => Assert.Matches("^[0-9A-HJKMNP-TV-Z]{5}-[0-9A-HJKMNP-TV-Z]{5}$", code));
        Assert.Equal(codes.Count, codes.Distinct().Count());
        Assert.All(codes, code => Assert.Null(EnrolmentCode.Read(code).Fault));
    }

    [Theory]
    [InlineData("7QK2M-9XB4J", "7QK2M9XB4J", "as shown; check sign by Luhn's rule over 32, reckoned apart from this code")]
    [InlineData(" 7qk2m 9xb4j ", "7QK2M9XB4J", "small letters and spaces")]
    [InlineData("OOOOO-OOOOO", "0000000000", "the letter for the digit; all noughts check to nought by definition")]
    public void Code_is_read_as_people_type_it(string typed, string code, string why)
    {
        var (read, fault) = EnrolmentCode.Read(typed);

        Assert.True(fault is null, $"{why}: {fault}");
        Assert.Equal(code, read);
        Assert.Equal(EnrolmentCode.Hash(code), EnrolmentCode.Hash(typed));
    }

    [Theory]
    [InlineData(null, "it has 0 signs, expected 10")]
    [InlineData("7QK2M-9XB4", "it has 9 signs, expected 10")]
    [InlineData("7QK2M-9XB4J7QK2M", "it has 15 signs, expected 10")]
    [InlineData("7QK2M-9XBUJ", "'U' is in no code")]
    [InlineData("7QK2M-9XB\u00e9J", "neither letter nor digit")]
    [InlineData("7QK2M-9XB4K", "one of its signs is wrong, or two are swapped")]
    [InlineData("7QK2M-9XBJ4", "one of its signs is wrong, or two are swapped")]
    public void What_cannot_be_a_code_is_named(string? typed, string expected) =>
        Assert.Contains(expected, EnrolmentCode.Read(typed).Fault, StringComparison.Ordinal);

    [Fact]
    public void Any_one_wrong_sign_is_found() =>
        Gen.Select(Gen.Int[0, 9], Gen.Int[1, 31]).Sample((at, by) =>
        {
            var code = EnrolmentCode.Read(EnrolmentCode.New()).Code!.ToCharArray();
            code[at] = Signs[(Signs.IndexOf(code[at], StringComparison.Ordinal) + by) % 32];
            Assert.NotNull(EnrolmentCode.Read(new string(code)).Fault);
        });
}
