using PavementWatch.Core.Agreement;
using PavementWatch.Dashboards.Analyst;
using PavementWatch.Dashboards.Checks;

namespace PavementWatch.Dashboards.Tests;

/// <summary>What the analyst's plots are drawn from.</summary>
public class PlotTests
{
    [Fact]
    public void Bias_and_limits_of_agreement_carry_their_confidence_as_bands()
    {
        ComparedPair[] pairs = [.. Enumerable.Range(0, 12).Select(i => new ComparedPair(40 + i + (i % 3), 40 + i))];
        var agreement = BlandAltman.Of(pairs)!;
        var plot = Plot.Agreement(new MethodComparison(pairs, agreement, AgreementVerdict.Of(agreement, 3, new AgreementThresholds())), TemperatureUnit.Both);
        // The zero line has none; then bias, lower and upper limit.
        Assert.Null(plot.Lines[0].Band);
        Assert.Equal(
            [agreement.BiasIntervalKelvin, agreement.LowerLimitIntervalKelvin, agreement.UpperLimitIntervalKelvin],
            plot.Lines.Skip(1).Select(l => new Interval(l.Band![0], l.Band[1])), (a, b) => Math.Abs(a.Low - b.Low) < 0.001 && Math.Abs(a.High - b.High) < 0.001);
    }

    [Fact]
    public void A_line_goes_through_the_means_of_steps_with_enough_residuals()
    {
        ResidualPoint At(double hour, double residual) => new(DateTimeOffset.UnixEpoch, residual, hour, 0, 20, Learned: false);
        var plot = Plot.Residuals("hour", [At(0.5, 1), At(1, 2), At(2, 3), At(4, 9), At(5, 9)], p => p.LocalHour, 3, TemperatureUnit.Both);
        var means = Assert.Single(plot.Series, s => s.Name == "mean of a step");
        // The middle of 0 to 3 and (1 + 2 + 3) / 3, by definition; 3 to 6 has two residuals only.
        Assert.Equal([1.5, 2.0], Assert.Single(means.Points));
    }
}
