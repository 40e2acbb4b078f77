using PavementWatch.Core.Calibration;
using PavementWatch.Tests;

namespace PavementWatch.Core.Tests.Calibration;

public sealed class CalibrationSeriesTests
{
    private static readonly DateTimeOffset Start = new(2026, 7, 4, 9, 0, 0, TimeSpan.Zero);

    [Fact]
    public void Settled_samples_become_their_means()
    {
        Assert.Null(CalibrationSeries.Point(Series(36, 55, 0, 0.2), out var point));
        Published.Near(55, point!.ReferenceCelsius, 1e-9, "by definition: the mean put in");
        Published.Near(54, point.MeasuredCelsius, 1e-9, "by definition: one kelvin below");
        Published.Near(0.202837, point.MeasuredScatterKelvin, 1e-5, "worked by hand: 0.2 · √(36/35)");
        Assert.Equal(36, point.SampleCount);
    }

    [Theory]
    [InlineData(9, 0, 0, "only 9 pairs")]
    [InlineData(36, -0.6, 0, "still changes by -0.6 K a minute")]
    [InlineData(36, 0.6, 0, "still changes by 0.6 K a minute")]
    [InlineData(36, 0, 0.6, "scatter by 0.6 K")]
    public void Samples_that_have_not_settled_are_refused(int count, double kelvinPerMinute, double swing, string part)
    {
        var refused = CalibrationSeries.Point(Series(count, 55, kelvinPerMinute, swing), out var point);
        Assert.Null(point);
        Assert.Equal(CalibrationFault.NotSettled, refused!.Fault);
        Assert.Contains(part, refused.Reason, StringComparison.Ordinal);
    }

    [Theory]
    [InlineData(10, 0, 0)]
    [InlineData(36, 0.49, 0)]
    [InlineData(36, -0.49, 0)]
    [InlineData(36, 0, 0.49)]
    public void Samples_just_within_the_bounds_are_accepted(int count, double kelvinPerMinute, double swing) =>
        Assert.Null(CalibrationSeries.Point(Series(count, 55, kelvinPerMinute, swing), out _));

    [Fact]
    public void A_sample_that_is_not_a_number_is_refused()
    {
        var series = Series(36, 55, 0, 0);
        series[7] = series[7] with { MeasuredCelsius = double.NaN };
        Assert.NotNull(CalibrationSeries.Point(series, out _));
    }

    // Every 5 s; the infrared sensor reads one kelvin low and swings about that.
    private static List<CalibrationSample> Series(int count, double celsius, double kelvinPerMinute, double swing) =>
        [.. Enumerable.Range(0, count).Select(i =>
        {
            var reference = celsius + kelvinPerMinute * i / 12;
            return new CalibrationSample(Start.AddSeconds(5 * i), reference, reference - 1 + (i % 2 == 0 ? swing : -swing));
        })];
}
