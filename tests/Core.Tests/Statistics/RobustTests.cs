using CsCheck;
using PavementWatch.Core.Statistics;
using PavementWatch.Tests;
using static PavementWatch.Core.Tests.Statistics.RegressionData;

namespace PavementWatch.Core.Tests.Statistics;

public sealed class RobustTests
{
    private const string Rlm = "R 4.2.2, MASS 7.3-58.2, rlm run to its fixed point (check values 9.3)";
    private const string Computed = "Computed independently (check values 9.2 and 9.3)";

    [Fact]
    public void Huber_on_stackloss_agrees_with_R_in_coefficients_errors_scale_and_weights()
    {
        var fit = Fitted(
            [Ones(21), .. Enumerable.Range(0, 3).Select(c => Column(StacklossRows, c))], Column(StacklossRows, 3));
        double[] expected = [-41.026485373295, 0.829385770254, 0.926059415549, -0.127846317965];
        double[] errors = [9.806872294357, 0.111174962320, 0.303393403350, 0.128846345687];
        for (var j = 0; j < 4; j++)
        {
            Published.Near(expected[j], fit.Coefficients[j], 1e-9, Rlm);
            Published.Near(errors[j], fit.StandardErrors[j], 1e-9, Rlm);
        }

        Published.Near(2.44048904599, fit.ResidualScale, 1e-9, Rlm);
        Weights(fit, (3, 0.7857966125), (4, 0.5048559249), (21, 0.3680837818));
    }

    [Fact]
    public void Huber_with_one_predictor_agrees_with_R()
    {
        var fit = Fitted([Ones(21), Column(StacklossRows, 0)], Column(StacklossRows, 3));
        Published.Near(-45.01476399550, fit.Coefficients[0], 1e-9, Rlm);
        Published.Near(1.03720722856, fit.Coefficients[1], 1e-10, Rlm);
        Published.Near(1.91561775417, fit.ResidualScale, 1e-9, Rlm);
        Weights(fit, (1, 0.6380355100), (3, 0.6099362128), (4, 0.2958808894), (13, 0.6218554535), (14, 0.8196934914), (21, 0.2046512056));
    }

    [Fact]
    public void Huber_on_phones_agrees_with_R()
    {
        var fit = Fitted([Ones(24), PhonesX], PhonesY);
        Published.Near(-102.52963811901, fit.Coefficients[0], 1e-7, Rlm);
        Published.Near(2.03960046574, fit.Coefficients[1], 1e-9, Rlm);
        Published.Near(9.00902830605, fit.ResidualScale, 1e-8, Rlm);
    }

    [Fact]
    public void Points_on_a_line_have_no_scale()
    {
        var fit = Fitted([Ones(5), [1, 2, 3, 4, 5]], [3, 5, 7, 9, 11]);
        Published.Near(2, fit.Coefficients[1], 1e-12, "By definition");
        Published.Near(0, fit.ResidualScale, 1e-12, "By definition");
    }

    [Fact]
    public void Theil_Sen_agrees_with_values_computed_elsewhere()
    {
        var norris = TheilSen.Fit(NorrisX, NorrisY)!.Value;
        Assert.Equal(629, norris.Pairs);
        Published.Near(1.0021968365553602, norris.Slope, 1e-14, Computed);
        Published.Near(-0.3010984182776564, norris.Intercept, 1e-12, Computed);

        var stackloss = TheilSen.Fit(Column(StacklossRows, 0), Column(StacklossRows, 3))!.Value;
        Assert.Equal(174, stackloss.Pairs);
        Published.Near(1, stackloss.Slope, 1e-14, Computed);
        Published.Near(-43, stackloss.Intercept, 1e-12, Computed);

        var phones = TheilSen.Fit(PhonesX, PhonesY)!.Value;
        Assert.Equal(276, phones.Pairs);
        Published.Near(1.38750, phones.Slope, 1e-12, Computed);
        Published.Near(-67.98125, phones.Intercept, 1e-10, Computed);
    }

    [Fact]
    public void Theil_Sen_needs_two_different_x() => Assert.Null(TheilSen.Fit([3, 3, 3], [1, 2, 3]));

    [Fact]
    public void Centre_and_spread_of_chem_agree_with_R()
    {
        const string source = "R 4.2.2, MASS 7.3-58.2 (check values 9.3)";
        Published.Near(3.385, Robust.Median(Chem), 1e-12, source);
        Published.Near(0.526323, Robust.MedianAbsoluteDeviation(Chem), 1e-12, source);
        // R stops when a step is below 1e-6 spreads.
        Published.Near(3.20672412964, Robust.HuberCentre(Chem), 1e-6, source);
    }

    [Fact]
    public void Offset_of_Norris_has_the_published_median() =>
        Published.Near(0.3, Robust.Median([.. NorrisY.Zip(NorrisX, (y, x) => y - x)]), 1e-9, Computed);

    [Fact]
    public void Median_of_nothing_is_refused()
    {
        Assert.Throws<ArgumentException>(() => Robust.Median([]));
        Assert.Throws<ArgumentOutOfRangeException>(() => Robust.Quantile([1], 1.01));
        Assert.Throws<ArgumentOutOfRangeException>(() => Robust.Quantile([1], -0.01));
        Assert.Throws<ArgumentOutOfRangeException>(() => Robust.HuberCentre([1, 2], 0));
    }

    [Fact]
    public void One_wild_value_moves_the_Huber_centre_less_than_the_mean() =>
        Gen.Double[-1, 1].Array[9].Sample(values =>
        {
            double[] spoiled = [.. values, 1000];
            Assert.InRange(Robust.HuberCentre(spoiled), values.Min() - 5, values.Max() + 5);
        });

    private static LinearFit Fitted(double[][] columns, double[] y) =>
        Assert.IsType<LinearFit>(HuberRegression.Fit(columns, y));

    private static void Weights(LinearFit fit, params (int Row, double Weight)[] below)
    {
        for (var row = 1; row <= fit.Weights.Count; row++)
        {
            var expected = below.FirstOrDefault(b => b.Row == row) is { Row: > 0 } found ? found.Weight : 1;
            Published.Near(expected, fit.Weights[row - 1], 1e-9, Rlm);
        }
    }
}
