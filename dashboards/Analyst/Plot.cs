using System.Globalization;
using PavementWatch.Core.Agreement;
using PavementWatch.Core.Backtesting;
using PavementWatch.Dashboards.Checks;

namespace PavementWatch.Dashboards.Analyst;

/// <summary>A plot as <c>wwwroot/js/plots.js</c> draws it. The table below each holds the same for those who see no plot.</summary>
/// <param name="XName">What the horizontal axis shows, with its unit.</param>
/// <param name="YName">What the vertical axis shows, with its unit.</param>
/// <param name="Series">What is drawn, in order.</param>
public sealed record Plot(string XName, string YName, IReadOnlyList<PlotSeries> Series)
{
    // A mean of fewer is more chance than residual.
    private const int LeastForMean = 3;

    /// <summary>Level lines with their words.</summary>
    public IReadOnlyList<PlotLine> Lines { get; init; } = [];

    /// <summary>Whether the horizontal axis is time, in milliseconds since 1970.</summary>
    public bool IsTime { get; init; }

    /// <summary>Whether a line where both axes are the same is drawn.</summary>
    public bool Diagonal { get; init; }

    /// <summary>Differences of sensor or estimate and checks over their mean, with bias and limits of agreement.</summary>
    public static Plot Agreement(MethodComparison method)
    {
        var lines = new List<PlotLine> { new(0, "", PlotTone.Quiet) };
        if (method.Agreement is { } agreement)
        {
            lines.Add(new(agreement.BiasKelvin, Signed("bias", agreement.BiasKelvin), PlotTone.Strong) { Band = Band(agreement.BiasIntervalKelvin) });
            lines.Add(new(agreement.LowerLimitKelvin, Signed("lower limit", agreement.LowerLimitKelvin), PlotTone.Dashed) { Band = Band(agreement.LowerLimitIntervalKelvin) });
            lines.Add(new(agreement.UpperLimitKelvin, Signed("upper limit", agreement.UpperLimitKelvin), PlotTone.Dashed) { Band = Band(agreement.UpperLimitIntervalKelvin) });
        }

        return new Plot("mean of both (°C)", "minus check (K)",
            [new("checks", PlotKind.Points, [.. method.Pairs.Select(p => new[] { (p.CheckedCelsius + p.ReferenceCelsius) / 2, p.DifferenceKelvin })])])
        {
            Lines = lines,
        };
    }

    /// <summary>Residuals over something; what the fit has learned from stands apart, and a line goes through the means of steps.</summary>
    /// <param name="xName">What they are drawn over, with its unit.</param>
    /// <param name="points">The residuals.</param>
    /// <param name="x">Where each stands.</param>
    /// <param name="width">Width of a step of the line.</param>
    public static Plot Residuals(string xName, IReadOnlyList<ResidualPoint> points, Func<ResidualPoint, double> x, double width)
    {
        double[][] means = [.. ResidualBin.Of(points.Select(p => (x(p), p.ResidualKelvin)), width).Where(b => b.Count >= LeastForMean)
            .Select(b => new[] { (b.From + b.To) / 2, Math.Round(b.MeanKelvin, 2) })];
        double[][] Of(bool learned) => [.. points.Where(p => p.Learned == learned).Select(p => new[] { Math.Round(x(p), 2), Math.Round(p.ResidualKelvin, 2) })];
        return new Plot(xName, "measured minus estimated (K)",
            [.. new PlotSeries[] { new("learned from", PlotKind.Faint, Of(true)), new("not seen before", PlotKind.Points, Of(false)), new("mean of a step", PlotKind.Line, means) }.Where(s => s.Points.Count > 0)])
        {
            Lines = [new(0, "", PlotTone.Quiet)],
        };
    }

    /// <summary>Residuals over the age of the last surface reading.</summary>
    public static Plot Aged(IReadOnlyList<AgedResidual> aged)
    {
        ArgumentNullException.ThrowIfNull(aged);
        return new("age of the last surface reading (h)", "measured minus estimated (K)",
            [new("moments", PlotKind.Points, [.. aged.Select(a => new[] { a.AgeHours, Math.Round(a.ResidualKelvin, 2) })])])
        {
            Lines = [new(0, "", PlotTone.Quiet)],
        };
    }

    /// <summary>How many readings intervals held, over how many they promised to hold.</summary>
    public static Plot Calibration(IReadOnlyList<IntervalCoverage> coverage)
    {
        ArgumentNullException.ThrowIfNull(coverage);
        double[][] Held(Func<IntervalCoverage, double> percent) => [.. coverage.Select(c => new[] { c.NominalPercent, Math.Round(percent(c), 1) })];
        return new("promised (%)", "held (%)",
            [
                new("held", PlotKind.Line, Held(c => c.ObservedPercent)),
                new("95 % confidence", PlotKind.Edge, Held(c => c.ObservedIntervalPercent.Low)),
                new("its upper end", PlotKind.Edge, Held(c => c.ObservedIntervalPercent.High)),
            ])
        {
            Diagonal = true,
        };
    }

    /// <summary>Each spot's mean offset from fit to fit; a spot without fits on readings has no line.</summary>
    public static Plot History(IReadOnlyList<SpotOffset> spots)
    {
        ArgumentNullException.ThrowIfNull(spots);
        return new("fitted on (UTC)", "mean offset (K)",
            [.. spots.Where(s => s.History.Count > 0).Select(s => new PlotSeries(s.Spot.Name, PlotKind.Line,
                [.. s.History.Select(f => new[] { (double)f.FittedAt.ToUnixTimeMilliseconds(), Math.Round(f.MeanOffsetKelvin, 2) })]))])
        {
            IsTime = true,
        };
    }

    /// <summary>A backtest's errors over the age of the last surface reading, with those of the dark sensor and of the table; an age without rows has no point.</summary>
    public static Plot Nowcast(BacktestReport report)
    {
        ArgumentNullException.ThrowIfNull(report);
        return new("age of the last surface reading (h)", "RMSE (K)",
            [new("model", PlotKind.Line, [.. report.Nowcast.Where(n => n.All.RmseKelvin is not null).Select(n => new[] { n.AgeHours, Math.Round(n.All.RmseKelvin!.Value, 3) })])])
        {
            Lines =
            [
                new(0, "", PlotTone.Quiet),
                new(report.DarkSensor.All.RmseKelvin ?? 0, "model, dark sensor", PlotTone.Strong),
                new(report.HourOfDayTable.All.RmseKelvin ?? 0, "hour-of-day table", PlotTone.Dashed),
            ],
        };
    }

    private static double[]? Band(Interval interval) => [Math.Round(interval.Low, 3), Math.Round(interval.High, 3)];

    private static string Signed(string what, double kelvin) =>
        string.Create(CultureInfo.InvariantCulture, $"{what} {kelvin:+0.0;-0.0} K");
}

/// <summary>One row of points.</summary>
public sealed record PlotSeries(string Name, PlotKind Kind, IReadOnlyList<double[]> Points);

/// <summary>A level line.</summary>
public sealed record PlotLine(double Y, string Name, PlotTone Tone)
{
    /// <summary>Ends of its 95 % confidence interval, drawn as a band; <c>null</c> when it has none.</summary>
    public IReadOnlyList<double>? Band { get; init; }
}

/// <summary>How points look.</summary>
public enum PlotKind
{
    /// <summary>Dots.</summary>
    Points,

    /// <summary>Small pale rings.</summary>
    Faint,

    /// <summary>Dots joined by a line.</summary>
    Line,

    /// <summary>A thin dotted line: the edge of what is possible.</summary>
    Edge,
}

/// <summary>How a level line looks.</summary>
public enum PlotTone
{
    /// <summary>Thin.</summary>
    Quiet,

    /// <summary>Thick.</summary>
    Strong,

    /// <summary>Dashed.</summary>
    Dashed,
}
