using CsCheck;
using PavementWatch.Core.Agreement;
using PavementWatch.Tests;

namespace PavementWatch.Core.Tests.Agreement;

/// <summary>Peak expiratory flow, l/min in place of °C: Bland and Altman, Lancet i (1986) 307–310, table 1.</summary>
public class BlandAltmanTests
{
    private const string Computed = "Bland and Altman 1986, table 1, computed in R 4.2.2 and Python 3.11";
    private const string Paper = "Bland and Altman 1986, as printed";

    internal static readonly double[] Wright1 = [494, 395, 516, 434, 476, 557, 413, 442, 650, 433, 417, 656, 267, 478, 178, 423, 427];
    private static readonly double[] Wright2 = [490, 397, 512, 401, 470, 611, 415, 431, 638, 429, 420, 633, 275, 492, 165, 372, 421];
    internal static readonly double[] Mini1 = [512, 430, 520, 428, 500, 600, 364, 380, 658, 445, 432, 626, 260, 477, 259, 350, 451];
    private static readonly double[] Mini2 = [525, 415, 508, 444, 500, 625, 460, 390, 642, 432, 420, 605, 227, 467, 268, 370, 443];

    internal static ComparedPair[] WrightAndMini { get; } = [.. Wright1.Zip(Mini1, (w, m) => new ComparedPair(w, m))];

    [Fact]
    public void The_example_of_1986_comes_out_in_every_figure()
    {
        var two = BlandAltman.Of(WrightAndMini, limitDeviations: 2)!;
        Assert.Equal(17, two.Count);
        Published.Near(-2.117647058823529, two.BiasKelvin, 1e-12, Computed);
        Published.Near(-2.1, two.BiasKelvin, 0.05, Paper);
        Published.Near(38.76512987360738, two.DeviationKelvin, 1e-11, Computed);
        Published.Near(38.8, two.DeviationKelvin, 0.05, Paper);
        Published.Near(9.401925004, two.BiasErrorKelvin, 5e-10, Computed);
        Published.Near(16.284611795, two.LimitErrorKelvin, 5e-10, Computed);
        Published.Near(-79.6479068, two.LowerLimitKelvin, 5e-8, Computed);
        Published.Near(75.4126127, two.UpperLimitKelvin, 5e-8, Computed);
        Published.Near(-22.0488, two.BiasIntervalKelvin.Low, 5e-5, Computed);
        Published.Near(17.8135, two.BiasIntervalKelvin.High, 5e-5, Computed);
        Published.Near(-114.1697, two.LowerLimitIntervalKelvin.Low, 5e-5, Computed);
        Published.Near(-45.1261, two.LowerLimitIntervalKelvin.High, 5e-5, Computed);
        Published.Near(40.8908, two.UpperLimitIntervalKelvin.Low, 5e-5, Computed);
        Published.Near(109.9344, two.UpperLimitIntervalKelvin.High, 5e-5, Computed);
        Published.Near(-114.3, two.LowerLimitIntervalKelvin.Low, 0.2, Paper + " from rounded numbers");
        Published.Near(-45.1, two.LowerLimitIntervalKelvin.High, 0.05, Paper);
        Published.Near(0.943279447, two.CorrelationFraction!.Value, 5e-10, Computed);
        Published.Near(0.94, two.CorrelationFraction!.Value, 5e-3, Paper);
        Published.Near(0.942742431, two.ConcordanceFraction!.Value, 5e-10, Computed + "; Lin 1989, divisor n");
    }

    [Fact]
    public void Limits_at_1_96_deviations_agree()
    {
        var agreement = BlandAltman.Of(WrightAndMini)!;
        Published.Near(-78.0973016, agreement.LowerLimitKelvin, 5e-8, Computed);
        Published.Near(73.8620075, agreement.UpperLimitKelvin, 5e-8, Computed);
    }

    [Fact]
    public void Repeatability_agrees()
    {
        Published.Near(21.646899, BlandAltman.RepeatabilityKelvin(Wright1, Wright2)!.Value, 5e-7, Computed);
        Published.Near(28.158167, BlandAltman.RepeatabilityKelvin(Mini1, Mini2)!.Value, 5e-7, Computed);
    }

    [Fact]
    public void The_line_of_one_meter_over_the_other_agrees()
    {
        var line = CorrectionLine.Of([.. Wright1.Zip(Mini1, (w, m) => new ComparedPair(m, w))]);
        const string source = "same data, exact rational arithmetic in Python 3.11";
        Published.Near(0.9699440613933965, line.Gain, 1e-13, source);
        Published.Near(11.481781162470218, line.OffsetKelvin, 1e-10, source);
        Published.Near(0.0881451750175006, line.GainError, 1e-13, source);
        Published.Near(39.882183781432644 * Math.Sqrt(15.0 / 17), line.RemainingKelvin, 1e-10, source);
    }

    [Fact]
    public void The_line_agrees_with_the_certified_values_of_Norris()
    {
        double[] y = [0.1, 338.8, 118.1, 888.0, 9.2, 228.1, 668.5, 998.5, 449.1, 778.9, 559.2, 0.3, 0.1, 778.1, 668.8, 339.3, 448.9, 10.8, 557.7, 228.3, 998.0, 888.8, 119.6, 0.3, 0.6, 557.6, 339.3, 888.0, 998.5, 778.9, 10.2, 117.6, 228.9, 668.4, 449.2, 0.2];
        double[] x = [0.2, 337.4, 118.2, 884.6, 10.1, 226.5, 666.3, 996.3, 448.6, 777.0, 558.2, 0.4, 0.6, 775.5, 666.9, 338.0, 447.5, 11.6, 556.0, 228.1, 995.8, 887.6, 120.2, 0.3, 0.3, 556.8, 339.1, 887.2, 999.0, 779.0, 11.1, 118.3, 229.2, 669.1, 448.9, 0.5];
        const string source = "NIST StRD, Norris, certified";
        var line = CorrectionLine.Of([.. x.Zip(y, (a, b) => new ComparedPair(a, b))]);
        Published.Near(1.00211681802045, line.Gain, 1e-12, source);
        Published.Near(-0.262323073774029, line.OffsetKelvin, 1e-10, source);
        Published.Near(0.429796848199937e-03, line.GainError, 1e-12, source);
        Published.Near(Math.Sqrt(26.6173985294224 / 36), line.RemainingKelvin, 1e-10, source);
    }

    [Fact]
    public void Fewer_than_three_pairs_say_nothing()
    {
        Assert.Null(BlandAltman.Of([]));
        Assert.Null(BlandAltman.Of([new(40, 41), new(50, 49)]));
        Assert.NotNull(BlandAltman.Of([new(40, 41), new(50, 49), new(45, 45)]));
    }

    [Fact]
    public void Methods_that_never_change_have_no_correlation()
    {
        var agreement = BlandAltman.Of([new(40, 40), new(40, 40), new(40, 40)])!;
        Assert.Null(agreement.CorrelationFraction);
        Assert.Null(agreement.ConcordanceFraction);
        Assert.Equal((0, 0), (agreement.BiasKelvin, agreement.DeviationKelvin));
    }

    [Fact]
    public void What_is_not_finite_is_refused_by_its_place()
    {
        var thrown = Assert.Throws<ArgumentException>(() => BlandAltman.Of([new(1, 1), new(double.NaN, 2), new(1, 1)]));
        Assert.Contains("pair 1", thrown.Message, StringComparison.Ordinal);
        Assert.Throws<ArgumentException>(() => BlandAltman.RepeatabilityKelvin([1], [1, 2]));
        Assert.Throws<ArgumentOutOfRangeException>(() => BlandAltman.Of(WrightAndMini, confidenceFraction: 1));
        Assert.Throws<ArgumentOutOfRangeException>(() => BlandAltman.Of(WrightAndMini, limitDeviations: 0));
    }

    [Fact]
    public void Moving_one_method_by_a_constant_moves_bias_and_limits_by_it_and_nothing_else() =>
        Gen.Select(Gen.Select(Gen.Double[20, 70], Gen.Double[-5, 5]).Array[3, 40], Gen.Double[-10, 10]).Sample((raw, shift) =>
        {
            var plain = BlandAltman.Of([.. raw.Select(r => new ComparedPair(r.Item1 + r.Item2, r.Item1))])!;
            var moved = BlandAltman.Of([.. raw.Select(r => new ComparedPair(r.Item1 + r.Item2 + shift, r.Item1))])!;
            Assert.Equal(plain.BiasKelvin + shift, moved.BiasKelvin, 1e-9);
            Assert.Equal(plain.LowerLimitKelvin + shift, moved.LowerLimitKelvin, 1e-9);
            Assert.Equal(plain.UpperLimitIntervalKelvin.High + shift, moved.UpperLimitIntervalKelvin.High, 1e-9);
            Assert.Equal(plain.DeviationKelvin, moved.DeviationKelvin, 1e-9);
            Assert.True(moved.ConcordanceFraction is null || Math.Abs(moved.ConcordanceFraction.Value) <= 1 + 1e-12);
        });

    [Fact]
    public void An_interval_of_95_percent_holds_the_true_bias_in_95_of_100_days_of_checks()
    {
        // Simulated: 2,000 days of 10 checks, true bias 0.7 K, deviation 1.3 K; binomial error 0.5 %.
        var random = new Random(20260715);
        var inside = 0;
        for (var day = 0; day < 2000; day++)
        {
            var pairs = Enumerable.Range(0, 10).Select(_ => new ComparedPair(45 + 0.7 + (1.3 * Normal(random)), 45)).ToArray();
            inside += BlandAltman.Of(pairs)!.BiasIntervalKelvin.Contains(0.7) ? 1 : 0;
        }

        Assert.InRange(inside / 2000.0, 0.935, 0.965);
    }

    internal static double Normal(Random random) =>
        Math.Sqrt(-2 * Math.Log(1 - random.NextDouble())) * Math.Cos(2 * Math.PI * random.NextDouble());
}
