using PavementWatch.Core.Agreement;
using PavementWatch.Tests;

namespace PavementWatch.Core.Tests.Agreement;

public class CorrectionLineTests
{
    [Fact]
    public void The_line_agrees_with_Pearsons_of_1901()
    {
        // Both in error alike: the line of closest fit.
        double[] x = [0.0, 0.9, 1.8, 2.6, 3.3, 4.4, 5.2, 6.1, 6.5, 7.4];
        double[] y = [5.9, 5.4, 4.4, 4.6, 3.5, 3.7, 2.8, 2.8, 2.4, 1.5];
        var line = CorrectionLine.Of([.. x.Zip(y, (a, b) => new ComparedPair(a, b))]);
        const string source = "Pearson, On lines and planes of closest fit, Phil. Mag. 2 (1901) 559-572, data and line from memory";
        Published.Near(-0.546, line.Gain, 5e-4, source);
        Published.Near(5.784, line.OffsetKelvin, 5e-4, source);
        Published.Near(-0.5455611975209647, line.Gain, 1e-12, "same data, computed in Python 3.11");
        Published.Near(0.03680041615293529, line.GainError, 1e-12, "same data, one pair left out at a time, computed in Python 3.11");
    }

    [Theory]
    [InlineData(1, 1.0299925383654307, -15.688388535699573, 0.13404656099367404)]
    [InlineData(2.25, 1.0062973148398835, -4.9669968087284815, 0.13100843439551207)]
    [InlineData(0, 1.0900990093143763, -42.88479880271666, 0.1363782183046047)]
    public void The_line_of_one_meter_over_the_other_agrees(double errorRatio, double gain, double offset, double error)
    {
        var line = CorrectionLine.Of([.. BlandAltmanTests.WrightAndMini.Select(p => new ComparedPair(p.ReferenceCelsius, p.CheckedCelsius))], errorRatio);
        const string source = "Bland and Altman 1986, table 1, computed in Python 3.11";
        Published.Near(gain, line.Gain, 1e-12, source);
        Published.Near(offset, line.OffsetKelvin, 1e-9, source);
        Published.Near(error, line.GainError, 1e-12, source);
    }

    [Fact]
    public void With_an_exact_reading_it_agrees_with_the_certified_values_of_Norris()
    {
        double[] y = [0.1, 338.8, 118.1, 888.0, 9.2, 228.1, 668.5, 998.5, 449.1, 778.9, 559.2, 0.3, 0.1, 778.1, 668.8, 339.3, 448.9, 10.8, 557.7, 228.3, 998.0, 888.8, 119.6, 0.3, 0.6, 557.6, 339.3, 888.0, 998.5, 778.9, 10.2, 117.6, 228.9, 668.4, 449.2, 0.2];
        double[] x = [0.2, 337.4, 118.2, 884.6, 10.1, 226.5, 666.3, 996.3, 448.6, 777.0, 558.2, 0.4, 0.6, 775.5, 666.9, 338.0, 447.5, 11.6, 556.0, 228.1, 995.8, 887.6, 120.2, 0.3, 0.3, 556.8, 339.1, 887.2, 999.0, 779.0, 11.1, 118.3, 229.2, 669.1, 448.9, 0.5];
        const string source = "NIST StRD, Norris, certified";
        var line = CorrectionLine.Of([.. x.Zip(y, (a, b) => new ComparedPair(a, b))], double.PositiveInfinity);
        Published.Near(1.00211681802045, line.Gain, 1e-12, source);
        Published.Near(-0.262323073774029, line.OffsetKelvin, 1e-10, source);
        Published.Near(Math.Sqrt(26.6173985294224 / 36), line.RemainingKelvin, 1e-10, source);
    }

    [Fact]
    public void Noise_in_the_reading_does_not_pull_the_gain_under_one()
    {
        var random = new Random(3);
        ComparedPair[] pairs =
        [
            .. Enumerable.Range(0, 1000).Select(i =>
            {
                var truth = 25 + (35 * random.NextDouble());
                return new ComparedPair(truth + (4 * BlandAltmanTests.Normal(random)), truth + (4 * BlandAltmanTests.Normal(random)));
            }),
        ];
        const string source = "By simulation: gain 1, noise of 4 K in both";
        Published.Near(1, CorrectionLine.Of(pairs).Gain, 0.04, source);
        // Least squares of one alone: the variance of the truth over that of the reading, 102/(102 + 16).
        Published.Near(0.865, CorrectionLine.Of(pairs, double.PositiveInfinity).Gain, 0.04, source);
    }

    [Fact]
    public void What_has_no_line_is_refused_or_flat()
    {
        Assert.Throws<ArgumentException>(() => CorrectionLine.Of([new(40, 40), new(50, 50)]));
        Assert.Throws<ArgumentException>(() => CorrectionLine.Of([new(40, 40), new(40, 50), new(40, 45)]));
        Assert.Throws<ArgumentException>(() => CorrectionLine.Of([new(40, 40), new(41, double.NaN), new(42, 45)]));
        Assert.Throws<ArgumentOutOfRangeException>(() => CorrectionLine.Of([new(40, 40), new(41, 41), new(42, 42)], -1));
        Assert.Equal((0, 41), (CorrectionLine.Of([new(40, 41), new(41, 41), new(42, 41)]) is var line ? line.Gain : 1, line.OffsetKelvin));
    }
}
