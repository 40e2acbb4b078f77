using PavementWatch.Core.Agreement;
using PavementWatch.Tests;

namespace PavementWatch.Core.Tests.Agreement;

public class IntervalCoverageTests
{
    [Theory]
    //          inside of    low     high
    [InlineData(81, 263, 25.53, 36.62)]
    [InlineData(15, 148, 6.24, 16.05)]
    [InlineData(0, 20, 0.00, 16.11)]
    [InlineData(1, 29, 0.61, 17.18)]
    public void Wilsons_interval_agrees(int inside, int count, double low, double high)
    {
        const string source = "Newcombe 1998, Statistics in Medicine 17, 857, table I, method 3, from memory";
        var interval = new IntervalCoverage(count, inside, 90).ObservedIntervalPercent;
        Published.Near(low, interval.Low, 0.005, source);
        Published.Near(high, interval.High, 0.005, source);
    }

    [Fact]
    public void Both_ends_of_an_interval_are_inside_it()
    {
        var coverage = IntervalCoverage.Of([(40, 45, 40), (40, 45, 45), (40, 45, 39.999), (40, 45, 45.001), (double.NaN, 45, 44)])!;
        Assert.Equal((5, 2), (coverage.Count, coverage.Inside));
        Assert.Equal(40, coverage.ObservedPercent);
    }

    [Fact]
    public void Without_checks_nothing_is_said() => Assert.Null(IntervalCoverage.Of([]));

    [Theory]
    [InlineData(200, 180, CoverageFinding.Honest)] // 90 %
    [InlineData(200, 170, CoverageFinding.TooNarrow)] // 85 %: Wilson 79.4 to 89.3
    [InlineData(200, 190, CoverageFinding.TooWide)] // 95 %: Wilson 91.0 to 97.3
    [InlineData(20, 16, CoverageFinding.Honest)] // 80 % of a few cannot be told from 90
    public void What_the_count_says_depends_on_its_size(int count, int inside, CoverageFinding expected) =>
        Assert.Equal(expected, new IntervalCoverage(count, inside, 90).Finding);

    [Theory]
    [InlineData(0)]
    [InlineData(100)]
    [InlineData(double.NaN)]
    public void A_promise_out_of_range_is_refused(double nominalPercent) =>
        Assert.Throws<ArgumentOutOfRangeException>(() => IntervalCoverage.Of([(1, 2, 1)], nominalPercent));
}
