using CsCheck;
using PavementWatch.Core.Statistics;
using PavementWatch.Tests;
using static PavementWatch.Core.Tests.Statistics.RegressionData;

namespace PavementWatch.Core.Tests.Statistics;

public sealed class LeastSquaresTests
{
    private const string Nist = "NIST StRD, linear regression, certified values";
    private const string R = "R 4.2.2, lm";

    [Fact]
    public void Norris_agrees_with_the_certified_values_to_nine_digits()
    {
        var fit = Fitted([Ones(36), NorrisX], NorrisY);
        Digits(9, -0.262323073774029, fit.Coefficients[0]);
        Digits(9, 1.00211681802045, fit.Coefficients[1]);
        Digits(9, 0.232818234301152, fit.StandardErrors[0]);
        Digits(9, 0.429796848199937E-03, fit.StandardErrors[1]);
        Digits(9, 0.884796396144373, fit.ResidualScale);
        Digits(9, 26.6173985294224, fit.Residuals.Sum(r => r * r));
    }

    [Fact]
    public void Pontius_agrees_with_the_certified_values_to_nine_digits()
    {
        var fit = Fitted([Ones(40), PontiusX, [.. PontiusX.Select(x => x * x)]], PontiusY);
        Digits(9, 0.673565789473684E-03, fit.Coefficients[0]);
        Digits(9, 0.732059160401003E-06, fit.Coefficients[1]);
        Digits(9, -0.316081871345029E-14, fit.Coefficients[2]);
        Digits(9, 0.107938612033077E-03, fit.StandardErrors[0]);
        Digits(9, 0.157817399981659E-09, fit.StandardErrors[1]);
        Digits(9, 0.486652849992036E-16, fit.StandardErrors[2]);
        Digits(9, 0.205177424076185E-03, fit.ResidualScale);
    }

    [Fact]
    public void Longley_agrees_with_the_certified_values_to_seven_digits()
    {
        var fit = Fitted(
            [Ones(16), .. Enumerable.Range(1, 6).Select(c => Column(LongleyRows, c))], Column(LongleyRows, 0));
        double[] coefficients =
        [
            -3482258.63459582, 15.0618722713733, -0.358191792925910E-01, -2.02022980381683, -1.03322686717359,
            -0.511041056535807E-01, 1829.15146461355,
        ];
        double[] errors =
        [
            890420.383607373, 84.9149257747669, 0.334910077722432E-01, 0.488399681651699, 0.214274163161675,
            0.226073200069370, 455.478499142212,
        ];
        for (var j = 0; j < 7; j++)
        {
            Digits(7, coefficients[j], fit.Coefficients[j]);
            Digits(7, errors[j], fit.StandardErrors[j]);
        }

        Digits(7, 304.854073561965, fit.ResidualScale);
    }

    [Fact]
    public void Stackloss_agrees_with_R()
    {
        var fit = Fitted(
            [Ones(21), .. Enumerable.Range(0, 3).Select(c => Column(StacklossRows, c))], Column(StacklossRows, 3));
        double[] expected = [-39.919674420124, 0.715640200485, 1.295286124389, -0.152122519149];
        double[] errors = [11.895996850644, 0.134858185355, 0.368024265273, 0.156294043249];
        for (var j = 0; j < 4; j++)
        {
            Published.Near(expected[j], fit.Coefficients[j], 1e-11, R);
            Published.Near(errors[j], fit.StandardErrors[j], 1e-11, R);
        }

        Published.Near(3.24336391819, fit.ResidualScale, 1e-11, R);
    }

    [Fact]
    public void A_row_of_weight_two_counts_like_the_row_twice() =>
        Gen.Double[-10, 10].Array[6].Select(Gen.Double[-10, 10].Array[6]).Sample((x, y) =>
        {
            if (x.Max() - x.Min() < 0.1)
                return;
            var weighted = Fitted([Ones(6), x], y, [2, 1, 1, 1, 1, 1]);
            var twice = Fitted([Ones(7), [.. x, x[0]]], [.. y, y[0]]);
            Published.Near(twice.Coefficients[0], weighted.Coefficients[0], 1e-8, "By definition of a weight");
            Published.Near(twice.Coefficients[1], weighted.Coefficients[1], 1e-8, "By definition of a weight");
        });

    [Fact]
    public void A_straight_line_through_equal_x_is_not_enough()
    {
        var outcome = Assert.IsType<NotEnough>(LeastSquares.Fit([Ones(3), [2, 2, 2]], [1, 2, 3]));
        Assert.Equal("column 1 is a multiple of the columns before it, or zero", outcome.Reason);
    }

    [Fact]
    public void Fewer_rows_than_columns_is_not_enough()
    {
        var outcome = Assert.IsType<NotEnough>(LeastSquares.Fit([Ones(1), [2]], [1]));
        Assert.StartsWith("1 rows for 2 columns", outcome.Reason, StringComparison.Ordinal);
    }

    [Theory]
    [InlineData(double.NaN)]
    [InlineData(double.PositiveInfinity)]
    public void A_value_that_is_not_finite_is_refused(double value)
    {
        Assert.Throws<ArgumentException>(() => LeastSquares.Fit([Ones(2), [1, value]], [1, 2]));
        Assert.Throws<ArgumentException>(() => LeastSquares.Fit([Ones(2), [1, 2]], [1, value]));
        Assert.Throws<ArgumentException>(() => LeastSquares.Fit([Ones(2), [1, 2]], [1, 2], [1, value]));
    }

    private static LinearFit Fitted(double[][] columns, double[] y, double[]? weights = null) =>
        Assert.IsType<LinearFit>(LeastSquares.Fit(columns, y, weights));

    private static void Digits(int digits, double certified, double actual) =>
        Published.Near(certified, actual, Math.Abs(certified) * Math.Pow(10, -digits), Nist);
}
