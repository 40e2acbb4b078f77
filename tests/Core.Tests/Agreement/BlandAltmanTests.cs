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
    internal static readonly double[] Mini1 = [512, 430, 520, 428, 500, 600, 364, 380, 658, 445, 432, 626, 260, 477, 259, 350, 451];

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
        Published.Near(-79.6479068, two.LowerLimitKelvin, 5e-8, Computed);
        Published.Near(75.4126127, two.UpperLimitKelvin, 5e-8, Computed);
        Published.Near(-22.0488, two.BiasIntervalKelvin.Low, 5e-5, Computed);
        Published.Near(17.8135, two.BiasIntervalKelvin.High, 5e-5, Computed);
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
        Published.Near(16.395107984714520, agreement.LimitErrorKelvin, 1e-11, "same data, s·√(1/n + z²/(2(n − 1))) in Python 3.11");
    }

    [Fact]
    public void Intervals_of_the_limits_agree_with_the_paper_of_1999()
    {
        const string source = "Bland and Altman, Stat. Methods Med. Res. 8 (1999) 135-160: 85 blood pressures, bias -16.29, deviation 19.61 mmHg; as printed, from memory";
        // Any 85 differences of that mean and deviation have these limits.
        var shape = Enumerable.Range(0, 85).Select(i => i - 42.0).ToList();
        var deviation = Math.Sqrt(shape.Sum(d => d * d) / 84);
        var agreement = BlandAltman.Of([.. shape.Select(d => new ComparedPair(130 - 16.29 + (d / deviation * 19.61), 130))])!;
        Published.Near(-54.7, agreement.LowerLimitKelvin, 0.05, source);
        Published.Near(22.1, agreement.UpperLimitKelvin, 0.05, source);
        Published.Near(-61.9, agreement.LowerLimitIntervalKelvin.Low, 0.15, source);
        Published.Near(-47.5, agreement.LowerLimitIntervalKelvin.High, 0.15, source);
        Published.Near(14.9, agreement.UpperLimitIntervalKelvin.Low, 0.15, source);
        Published.Near(29.3, agreement.UpperLimitIntervalKelvin.High, 0.15, source);
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
