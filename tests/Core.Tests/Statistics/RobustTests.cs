using CsCheck;
using PavementWatch.Core.Statistics;
using PavementWatch.Tests;
using static PavementWatch.Core.Tests.Statistics.RegressionData;

namespace PavementWatch.Core.Tests.Statistics;

public sealed class RobustTests
{
    private const string Computed = "Computed independently (check values 9.2 and 9.3)";

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
}
