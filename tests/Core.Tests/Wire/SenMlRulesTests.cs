using System.Text;
using CsCheck;
using PavementWatch.Core.Wire;
using PavementWatch.Tests;

namespace PavementWatch.Core.Tests.Wire;

/// <summary>Rules: RFC 8428, section 4. Payloads are ours.</summary>
public class SenMlRulesTests
{
    private static readonly DateTimeOffset Now = DateTimeOffset.FromUnixTimeSeconds(1_800_000_000);

    [Theory]
    //          base       time             seconds          relative section
    [InlineData(0, -5, 1_799_999_995, true, "4.5.3: negative is the past")]
    [InlineData(0, 20, 1_800_000_020, true, "4.5.3: positive below 2^28 is the future")]
    [InlineData(0, 268_435_455, 2_068_435_455, true, "4.5.3: last relative second")]
    [InlineData(0, 268_435_456, 268_435_456, false, "4.5.3: 2^28 is absolute, 1978-07-04 21:24:16 UTC")]
    [InlineData(268_435_000, 456, 268_435_456, false, "4.5.3: the sum decides")]
    [InlineData(1_700_000_000, -60.5, 1_699_999_939.5, false, "4.5.3: base time and time add")]
    public void Time_is_resolved(double baseTime, double time, double seconds, bool relative, string section)
    {
        var record = Assert.Single(Parsed($$"""[{"bt":{{baseTime:R}},"n":"a","t":{{time:R}},"v":1}]""").Records);
        Published.Near(seconds, record.UnixSeconds, 1e-6, $"RFC 8428, section {section}");
        Assert.Equal(relative, record.WasRelative);
    }

    [Fact]
    public void The_first_absolute_second_is_in_July_1978() =>
        Assert.Equal(
            new DateTimeOffset(1978, 7, 4, 21, 24, 16, TimeSpan.Zero),
            DateTimeOffset.FromUnixTimeSeconds((long)SenMl.FirstAbsoluteSeconds));

    [Fact]
    public void Base_value_and_base_sum_add_to_what_follows_until_set_anew()
    {
        var records = Parsed("""
            [{"n":"a","v":1},{"bv":10,"bs":100,"n":"b","v":1,"s":2},{"n":"c","s":3},{"bv":20,"bs":0,"n":"d","v":1},{"n":"e","vs":"x"}]
            """).Records;
        Assert.Equal([1.0, 11, null, 21, null], records.Select(r => r.Value));
        Assert.Equal([null, 102.0, 103, 0, 0], records.Select(r => r.Sum));
    }

    [Fact]
    public void A_label_that_is_not_known_is_ignored_with_all_it_holds() =>
        Assert.Equal(1, Assert.Single(Parsed("""[{"n":"a","extra":{"deep":[1,{"n":"b"}]},"v":1,"x":null}]""").Records).Value);

    [Theory]
    [InlineData("", SenMlMistake.NotJson)]
    [InlineData("[", SenMlMistake.NotJson)]
    [InlineData("[{\"n\":\"a\",\"v\":1}", SenMlMistake.NotJson)]
    [InlineData("[{\"n\":\"a\",\"v\":1},]", SenMlMistake.NotJson)]
    [InlineData("[{\"n\":\"a\",\"v\":NaN}]", SenMlMistake.NotJson)]
    [InlineData("[{\"n\":\"a\",\"v\":Infinity}]", SenMlMistake.NotJson)]
    [InlineData("[] []", SenMlMistake.NotJson)]
    [InlineData("[{\"x\":[[[[[[[[[[1]]]]]]]]]]}]", SenMlMistake.NotJson)]
    [InlineData("hello", SenMlMistake.NotJson)]
    [InlineData("{}", SenMlMistake.NotAPack)]
    [InlineData("12", SenMlMistake.NotAPack)]
    [InlineData("[12]", SenMlMistake.NotAPack)]
    [InlineData("[[]]", SenMlMistake.NotAPack)]
    [InlineData("[{\"bt\":\"noon\",\"n\":\"a\",\"v\":1}]", SenMlMistake.BaseField)]
    [InlineData("[{\"bn\":1,\"n\":\"a\",\"v\":1}]", SenMlMistake.BaseField)]
    [InlineData("[{\"bt\":1,\"bt\":2,\"n\":\"a\",\"v\":1}]", SenMlMistake.BaseField)]
    [InlineData("[{\"bver\":11,\"n\":\"a\",\"v\":1}]", SenMlMistake.Version)]
    [InlineData("[{\"bver\":0,\"n\":\"a\",\"v\":1}]", SenMlMistake.Version)]
    [InlineData("[{\"bver\":9.5,\"n\":\"a\",\"v\":1}]", SenMlMistake.Version)]
    [InlineData("[{\"n\":\"a\",\"v\":1},{\"bver\":5,\"n\":\"a\",\"v\":1}]", SenMlMistake.Version)]
    [InlineData("[{\"n\":\"a\",\"v\":1,\"unit_\":2}]", SenMlMistake.MandatoryLabel)]
    public void A_pack_that_cannot_be_used_says_why(string json, SenMlMistake expected)
    {
        var malformed = Assert.IsType<SenMlOutcome.Malformed>(SenMl.Parse(Encoding.UTF8.GetBytes(json), Now));
        Assert.Equal(expected, malformed.Reason);
        Assert.NotEmpty(malformed.Field);
        Assert.NotEmpty(malformed.Remedy);
    }

    [Fact]
    public void A_version_that_is_too_new_is_named_with_its_record()
    {
        var outcome = SenMl.Parse("""[{"n":"a","v":1},{"bver":12,"n":"a","v":1}]"""u8, Now);
        Assert.Equal(
            "record 1, bver: version 12, expected a whole number from 1 to 10; send the version of RFC 8428, or leave bver out",
            outcome.ToString());
    }

    [Theory]
    [InlineData("""{"n":"a","v":"NaN"}""", "v", "the string \"NaN\"")]
    [InlineData("""{"n":"a","v":null}""", "v", "null")]
    [InlineData("""{"n":"a","v":1e999}""", "v", "1e999")]
    [InlineData("""{"n":"a","v":1,"vs":"x"}""", "v", "2 values")]
    [InlineData("""{"n":"a","v":1,"v":1}""", "v", "given twice")]
    [InlineData("""{"n":"a"}""", "v", "no value")]
    [InlineData("""{"n":"a","vb":1}""", "vb", "1")]
    [InlineData("""{"n":"a","t":"now","v":1}""", "t", "the string \"now\"")]
    [InlineData("""{"n":"a","bv":1e308,"v":1e308}""", "v", "a sum with bv that is not finite")]
    [InlineData("""{"v":1}""", "n", "no name")]
    [InlineData("""{"n":"-a","v":1}""", "n", "a character that names may not hold")]
    [InlineData("""{"n":"a b","v":1}""", "n", "a character that names may not hold")]
    [InlineData("""{"n":"\ud800","v":1}""", "n", "the string \"\\ud800\"")]
    public void A_record_at_fault_is_kept_out_alone(string record, string field, string found)
    {
        var parsed = Parsed($$"""[{"n":"good","v":1},{{record}}]""");
        Assert.Equal("good", Assert.Single(parsed.Records).Name);
        var fault = Assert.Single(parsed.Faults);
        Assert.Equal((1, field, found), (fault.Position, fault.Field, fault.Found));
    }

    [Fact]
    public void No_bytes_whatever_make_it_throw() =>
        Gen.Byte.Array[0, 60].Sample(bytes => _ = SenMl.Parse(bytes, Now), iter: 20_000);

    [Fact]
    public void A_pack_with_any_one_byte_changed_never_makes_it_throw()
    {
        var pack = """[{"bn":"a/","bt":1.7e9,"bver":10,"n":"x","u":"Cel","v":23.5,"s":1},{"n":"y","vs":"\u00e9","t":-60}]"""u8.ToArray();
        Gen.Select(Gen.Int[0, pack.Length - 1], Gen.Byte).Sample(
            (at, value) =>
            {
                var changed = pack.ToArray();
                changed[at] = value;
                _ = SenMl.Parse(changed, Now);
            },
            iter: 20_000);
    }

    private static SenMlOutcome.Parsed Parsed(string json) =>
        Assert.IsType<SenMlOutcome.Parsed>(SenMl.Parse(Encoding.UTF8.GetBytes(json), Now));
}
