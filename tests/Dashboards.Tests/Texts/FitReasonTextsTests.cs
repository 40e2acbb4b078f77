using PavementWatch.Core.Offsets;
using PavementWatch.Dashboards.Texts;

namespace PavementWatch.Dashboards.Tests.Texts;

/// <summary>Why a fit stands where it does, in the unit of whoever reads it.</summary>
public class FitReasonTextsTests
{
    private static readonly FitJudgement Worse = new(FitReason.Worse, 1.25, 0.5, 5) { Drift = new DriftFinding(DriftKind.TakesLessSun, -3.5, 0.2, 4) };

    [Theory]
    // A difference in °F is nine fifths of one in K, by definition.
    [InlineData(TemperatureUnit.Celsius, "worse: 1.25 K against 0.50 K on the middle one of the last 5 days; the analyst decides; the spot takes less of the sun than it did (-3.5 K by day, +0.2 K by night over 4 days): painted, ")]
    [InlineData(TemperatureUnit.Fahrenheit, "worse: 2.25 °F against 0.90 °F on the middle one of the last 5 days; the analyst decides; the spot takes less of the sun than it did (-6.3 °F by day, +0.4 °F by night over 4 days): painted, ")]
    [InlineData(TemperatureUnit.Both, "worse: 1.25 K (2.25 °F) against 0.50 K (0.90 °F) on the middle one of the last 5 days; the analyst decides; the spot takes ")]
    public void What_was_kept_is_read_in_ones_own_unit(TemperatureUnit unit, string begin) =>
        Assert.StartsWith(begin, FitReasonTexts.Of(FitReasonTexts.Keep(Worse), unit), StringComparison.Ordinal);

    [Fact]
    public void What_is_kept_holds_the_reason_by_name_and_comes_back_as_it_was()
    {
        Assert.Contains("\"Because\":\"Worse\"", FitReasonTexts.Keep(Worse), StringComparison.Ordinal);
        Assert.All(Enum.GetValues<FitReason>(), because =>
            Assert.Equal(FitReasonTexts.Of(new FitJudgement(because, 1, 2, 3), TemperatureUnit.Both), FitReasonTexts.Of(FitReasonTexts.Keep(new FitJudgement(because, 1, 2, 3)), TemperatureUnit.Both)));
    }

    [Theory]
    [InlineData("worse: 9.10 K against 0.70 K on the last 3 days; the analyst decides")]
    [InlineData("accepted by Odile: looks right")]
    [InlineData("{\"Because\":\"OfALaterEdition\"}")]
    [InlineData("{")]
    [InlineData("")]
    public void A_sentence_stays_as_it_was_written(string kept) => Assert.Equal(kept, FitReasonTexts.Of(kept, TemperatureUnit.Fahrenheit));
}
