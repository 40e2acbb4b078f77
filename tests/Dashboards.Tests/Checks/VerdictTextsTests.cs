using PavementWatch.Core.Agreement;
using PavementWatch.Dashboards.Checks;

namespace PavementWatch.Dashboards.Tests.Checks;

/// <summary>What checks say, in words.</summary>
public class VerdictTextsTests
{
    private static readonly AgreementThresholds Thresholds = new();

    [Theory]
    // Differences of 3 and 4 K by turns, eight times: bias 3.5, s = 0.534522, t = 2.364624 (from memory), so 3.5 ± 0.447; in °F nine fifths of each.
    [InlineData(TemperatureUnit.Celsius, "The sensor reads 3.5 K high on average (3.1 to 3.9 K) in 8 checks, more than the 1.0 K allowed and the 1.5 K that the thermometer may be off itself; single readings differ by 2.5 to 4.5 K.")]
    [InlineData(TemperatureUnit.Fahrenheit, "The sensor reads 6.3 °F high on average (5.5 to 7.1 °F) in 8 checks, more than the 1.8 °F allowed and the 2.7 °F that the thermometer may be off itself; single readings differ by 4.4 to 8.2 °F.")]
    [InlineData(TemperatureUnit.Both, "The sensor reads 3.5 K (6.3 °F) high on average (3.1 to 3.9 K, 5.5 to 7.1 °F) in 8 checks, more than the 1.0 K (1.8 °F) allowed and the 1.5 K (2.7 °F) that the thermometer may be off itself; single readings differ by 2.5 to 4.5 K (4.4 to 8.2 °F).")]
    public void A_verdict_reads_as_plain_sentences(TemperatureUnit unit, string text) =>
        Assert.Equal(text, VerdictTexts.Of(AgreementVerdict.Of(BlandAltman.Of(Pairs(8)), 3, Thresholds), "the sensor", unit));

    [Theory]
    [InlineData(AgreementFinding.Biased, AgreementFinding.Biased, "The sensor reads wrong, and the offset has learned it.")]
    [InlineData(AgreementFinding.Biased, AgreementFinding.Agrees, "The sensor reads wrong, and the offset does not yet.")]
    [InlineData(AgreementFinding.Scattered, AgreementFinding.Biased, "The sensor is right on average and its single readings are not.")]
    [InlineData(AgreementFinding.Agrees, AgreementFinding.Scattered, "The sensor is right and the estimate is not.")]
    [InlineData(AgreementFinding.NotEnough, AgreementFinding.Biased, "The estimate is off, and of the sensor too little is known.")]
    [InlineData(AgreementFinding.Agrees, AgreementFinding.Agrees, "Sensor and estimate agree with the checks.")]
    [InlineData(AgreementFinding.Agrees, AgreementFinding.NotEnough, "The sensor agrees with the checks; of the estimate too little is known yet.")]
    [InlineData(AgreementFinding.NotEnough, AgreementFinding.Agrees, "The estimate agrees with the checks; of the sensor too little is known yet.")]
    [InlineData(AgreementFinding.Undecided, AgreementFinding.NotEnough, "Too little is known yet.")]
    public void What_to_do_begins_with_what_is_off(AgreementFinding sensor, AgreementFinding estimate, string begin) =>
        Assert.StartsWith(begin, VerdictTexts.Of(SpotVerdict.Of(new(sensor, default), new(estimate, default))), StringComparison.Ordinal);

    [Fact]
    public void Too_few_checks_are_said_to_be_too_few()
    {
        Assert.Equal(
            "Too few checks of the estimate to say anything: 0 where 8 are asked for.",
            VerdictTexts.Of(AgreementVerdict.Of(null, 0, Thresholds), "the estimate", TemperatureUnit.Both));
        Assert.Equal(
            "The 8 checks of the sensor are of 2 days: too few to say anything, as those of one day share its sun and its wind. Checks on 3 different days are asked for.",
            VerdictTexts.Of(AgreementVerdict.Of(BlandAltman.Of(Pairs(8)), 2, Thresholds), "the sensor", TemperatureUnit.Both));
        Assert.Equal(
            "Too few checks to correct the sensor by: 5 where 8 are asked for.",
            VerdictTexts.Of(Recalibration.Of(Pairs(5), Thresholds), TemperatureUnit.Both));
    }

    [Fact]
    public void Every_reason_has_a_sentence_of_its_own()
    {
        var agreement = BlandAltman.Of(Pairs(8));
        var texts = Enum.GetValues<AgreementReason>().Select(because => VerdictTexts.Of(
            new AgreementVerdict(default, because) { Agreement = agreement, Days = 3 }, "the sensor", TemperatureUnit.Celsius)).ToList();
        Assert.Equal(texts.Count, texts.Distinct().Count());
        Assert.All(texts, text => Assert.EndsWith(".", text, StringComparison.Ordinal));
    }

    [Theory]
    [InlineData(TemperatureUnit.Celsius, "To put the sensor right, add -3.5 K to the sensor: on these 8 checks the typical difference falls from 3.5 to 0.5 K.")]
    [InlineData(TemperatureUnit.Fahrenheit, "To put the sensor right, add -6.3 °F to the sensor: on these 8 checks the typical difference falls from 6.4 to 0.9 °F.")]
    public void A_correction_is_in_the_unit_of_who_reads_it(TemperatureUnit unit, string text) =>
        Assert.StartsWith(text, VerdictTexts.Of(Recalibration.Of(Pairs(8), Thresholds), unit), StringComparison.Ordinal);

    private static ComparedPair[] Pairs(int count) => [.. Enumerable.Range(0, count).Select(i => new ComparedPair(43 + (i % 2) + i, 40 + i))];
}
