using CsCheck;
using PavementWatch.Core.Statistics;
using PavementWatch.Tests;
using static PavementWatch.Core.Tests.Statistics.RegressionData;

namespace PavementWatch.Core.Tests.Statistics;

/// <summary>The solver of the fits on certified data. It works on sums of products, so on nearly dependent columns (Longley) it keeps six digits, where an orthogonal one keeps more.</summary>
public sealed class NormalEquationsTests
{
    private const string Nist = "NIST StRD, linear regression, certified values";
    private const string R = "R 4.2.2, lm";
    private const string Rlm = "R 4.2.2, MASS 7.3-58.2, rlm run to its fixed point (check values 9.3)";

    // Far below a sample's weight, so that what is asked for is the plain solution.
    private const double NoPull = 1e-15;

    [Fact]
    public void Norris_agrees_with_the_certified_values_to_nine_digits()
    {
        var fit = Solve([Ones(36), NorrisX], NorrisY);
        Digits(9, -0.262323073774029, fit[0]);
        Digits(9, 1.00211681802045, fit[1]);
    }

    [Fact]
    public void Pontius_agrees_with_the_certified_values_to_nine_digits()
    {
        var fit = Solve([Ones(40), PontiusX, [.. PontiusX.Select(x => x * x)]], PontiusY);
        Digits(9, 0.673565789473684E-03, fit[0]);
        Digits(9, 0.732059160401003E-06, fit[1]);
        Digits(9, -0.316081871345029E-14, fit[2]);
    }

    [Fact]
    public void Longley_agrees_with_the_certified_values_to_six_digits()
    {
        var fit = Solve([Ones(16), .. Enumerable.Range(1, 6).Select(c => Column(LongleyRows, c))], Column(LongleyRows, 0));
        double[] certified =
        [
            -3482258.63459582, 15.0618722713733, -0.358191792925910E-01, -2.02022980381683, -1.03322686717359,
            -0.511041056535807E-01, 1829.15146461355,
        ];
        for (var j = 0; j < certified.Length; j++)
            Digits(6, certified[j], fit[j]);
    }

    [Fact]
    public void Stackloss_agrees_with_R()
    {
        var fit = Solve([Ones(21), .. Stackloss], Column(StacklossRows, 3));
        double[] expected = [-39.919674420124, 0.715640200485, 1.295286124389, -0.152122519149];
        for (var j = 0; j < expected.Length; j++)
            Published.Near(expected[j], fit[j], 1e-9, R);
    }

    [Fact]
    public void Stackloss_with_the_weights_of_Huber_agrees_with_R()
    {
        double[] weights = [.. Enumerable.Repeat(1.0, 21)];
        (weights[2], weights[3], weights[20]) = (0.7857966125, 0.5048559249, 0.3680837818);
        var fit = Solve([Ones(21), .. Stackloss], Column(StacklossRows, 3), weights);
        double[] expected = [-41.026485373295, 0.829385770254, 0.926059415549, -0.127846317965];
        for (var j = 0; j < expected.Length; j++)
            Published.Near(expected[j], fit[j], 1e-8, Rlm);
    }

    [Fact]
    public void Phones_with_the_weights_of_Huber_come_back_to_the_coefficients_that_gave_them()
    {
        const double intercept = -102.52963811901;
        const double slope = 2.03960046574;
        const double scale = 9.00902830605;
        double[] weights =
            [.. PhonesX.Zip(PhonesY, (x, y) => Math.Min(1, 1.345 * scale / Math.Abs(y - intercept - (slope * x))))];
        var fit = Solve([Ones(24), PhonesX], PhonesY, weights);
        Published.Near(intercept, fit[0], 1e-7, Rlm);
        Published.Near(slope, fit[1], 1e-9, Rlm);
    }

    [Fact]
    public void A_row_of_weight_two_counts_like_the_row_twice() =>
        Gen.Double[-10, 10].Array[6].Select(Gen.Double[-10, 10].Array[6]).Sample((x, y) =>
        {
            if (x.Max() - x.Min() < 0.1)
                return;
            var weighted = Solve([Ones(6), x], y, [2, 1, 1, 1, 1, 1]);
            var twice = Solve([Ones(7), [.. x, x[0]]], [.. y, y[0]]);
            Published.Near(twice[0], weighted[0], 1e-7, "By definition of a weight");
            Published.Near(twice[1], weighted[1], 1e-7, "By definition of a weight");
        });

    [Fact]
    public void Without_rows_the_solution_is_the_prior_and_many_rows_leave_it()
    {
        var sums = new NormalEquations(2);
        Assert.Equal([3, -2], sums.Solve([1, 1], [3, -2], new double[4]));

        double[][] rows = [.. Enumerable.Range(0, 1000).Select(i => new double[] { 1, i % 10 })];
        sums.Add(rows, [.. rows.Select(row => 5 + row[1])], Ones(1000));
        var learnt = sums.Solve([1, 1], [3, -2], new double[4]);
        Published.Near(5, learnt[0], 0.03, "By definition: 5 + x, a thousand samples against a pull of one");
        Published.Near(1, learnt[1], 0.01, "By definition: 5 + x, a thousand samples against a pull of one");
    }

    [Fact]
    public void Sums_that_fade_weigh_yesterday_by_the_share_kept()
    {
        double[][] yesterday = [[1, 0], [1, 1]];
        double[][] today = [[1, 2], [1, 3]];
        var all = new NormalEquations(2);
        all.Add(yesterday, [4, 7], [0.25, 0.25]);
        all.Add(today, [8, 9], [1, 1]);
        var (faded, day) = (new NormalEquations(2), new NormalEquations(2));
        faded.Add(yesterday, [4, 7], [1, 1]);
        day.Add(today, [8, 9], [1, 1]);
        faded.FadeAndAdd(0.25, day);

        var (expected, actual) = (all.Solve([1, 1], [0, 0], new double[4]), faded.Solve([1, 1], [0, 0], new double[4]));
        Assert.Equal(all.Weight, faded.Weight);
        for (var j = 0; j < 2; j++)
            Published.Near(expected[j], actual[j], 1e-12, "By definition of a share");
    }

    private static IEnumerable<double[]> Stackloss => Enumerable.Range(0, 3).Select(c => Column(StacklossRows, c));

    /// <summary>Columns are brought to the size of features, near one, and their coefficients brought back.</summary>
    private static double[] Solve(double[][] columns, double[] y, double[]? weights = null)
    {
        var sizes = Array.ConvertAll(columns, column => column.Max(Math.Abs));
        double[][] rows =
            [.. Enumerable.Range(0, y.Length).Select(i => columns.Select((column, j) => column[i] / sizes[j]).ToArray())];
        var sums = new NormalEquations(columns.Length);
        sums.Add(rows, y, weights ?? Ones(y.Length));
        var pulls = Enumerable.Repeat(NoPull, columns.Length).ToArray();
        var scaled = sums.Solve(pulls, new double[columns.Length], new double[columns.Length * columns.Length]);
        return [.. scaled.Select((coefficient, j) => coefficient / sizes[j])];
    }

    private static void Digits(int digits, double certified, double actual) =>
        Published.Near(certified, actual, Math.Abs(certified) * Math.Pow(10, -digits), Nist);
}
