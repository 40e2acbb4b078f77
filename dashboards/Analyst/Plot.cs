using PavementWatch.Core.Agreement;
using PavementWatch.Core.Backtesting;
using PavementWatch.Core.Team;
using PavementWatch.Dashboards.Checks;
using PavementWatch.Dashboards.Texts;

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
    public static Plot Agreement(MethodComparison method, TemperatureUnit unit)
    {
        PlotLine Line(string what, double kelvin, Interval interval, PlotTone tone) =>
            new(Differences.In(kelvin, unit), $"{what} {Differences.Figure(kelvin, unit, "+0.0;-0.0")} {Differences.Symbol(unit)}", tone) { Band = Band(interval, unit) };
        var lines = new List<PlotLine> { new(0, "", PlotTone.Quiet) };
        if (method.Agreement is { } agreement)
        {
            lines.Add(Line("bias", agreement.BiasKelvin, agreement.BiasIntervalKelvin, PlotTone.Strong));
            lines.Add(Line("lower limit", agreement.LowerLimitKelvin, agreement.LowerLimitIntervalKelvin, PlotTone.Dashed));
            lines.Add(Line("upper limit", agreement.UpperLimitKelvin, agreement.UpperLimitIntervalKelvin, PlotTone.Dashed));
        }

        return new Plot($"mean of both ({Temperatures.Symbol(unit)})", $"minus check ({Differences.Symbol(unit)})",
            [new("checks", PlotKind.Points, [.. method.Pairs.Select(p => new[] { Temperatures.In((p.CheckedCelsius + p.ReferenceCelsius) / 2, unit), Differences.In(p.DifferenceKelvin, unit) })])])
        {
            Lines = lines,
        };
    }

    /// <summary>Residuals over something; what the fit has learned from stands apart, and a line goes through the means of steps.</summary>
    /// <param name="xName">What they are drawn over, with its unit.</param>
    /// <param name="points">The residuals.</param>
    /// <param name="x">Where each stands.</param>
    /// <param name="width">Width of a step of the line.</param>
    /// <param name="unit">Who sees it wants this.</param>
    public static Plot Residuals(string xName, IReadOnlyList<ResidualPoint> points, Func<ResidualPoint, double> x, double width, TemperatureUnit unit)
    {
        double[][] means = [.. ResidualBin.Of(points.Select(p => (x(p), p.ResidualKelvin)), width).Where(b => b.Count >= LeastForMean)
            .Select(b => new[] { (b.From + b.To) / 2, Math.Round(Differences.In(b.MeanKelvin, unit), 2) })];
        double[][] Of(bool learned) => [.. points.Where(p => p.Learned == learned).Select(p => new[] { Math.Round(x(p), 2), Math.Round(Differences.In(p.ResidualKelvin, unit), 2) })];
        return new Plot(xName, $"measured minus estimated ({Differences.Symbol(unit)})",
            [.. new PlotSeries[] { new("learned from", PlotKind.Faint, Of(true)), new("not seen before", PlotKind.Points, Of(false)), new("mean of a step", PlotKind.Line, means) }.Where(s => s.Points.Count > 0)])
        {
            Lines = [new(0, "", PlotTone.Quiet)],
        };
    }

    /// <summary>Residuals over the age of the last surface reading.</summary>
    public static Plot Aged(IReadOnlyList<AgedResidual> aged, TemperatureUnit unit)
    {
        ArgumentNullException.ThrowIfNull(aged);
        return new("age of the last surface reading (h)", $"measured minus estimated ({Differences.Symbol(unit)})",
            [new("moments", PlotKind.Points, [.. aged.Select(a => new[] { a.AgeHours, Math.Round(Differences.In(a.ResidualKelvin, unit), 2) })])])
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
    public static Plot History(IReadOnlyList<SpotOffset> spots, TemperatureUnit unit)
    {
        ArgumentNullException.ThrowIfNull(spots);
        return new("fitted on (UTC)", $"mean offset ({Differences.Symbol(unit)})",
            [.. spots.Where(s => s.History.Count > 0).Select(s => new PlotSeries(s.Spot.Name, PlotKind.Line,
                [.. s.History.Select(f => new[] { (double)f.FittedAt.ToUnixTimeMilliseconds(), Math.Round(Differences.In(f.MeanOffsetKelvin, unit), 2) })]))])
        {
            IsTime = true,
        };
    }

    /// <summary>A backtest's errors over the age of the last surface reading, with those of the dark sensor and of the table; an age without rows has no point.</summary>
    public static Plot Nowcast(BacktestReport report, TemperatureUnit unit)
    {
        ArgumentNullException.ThrowIfNull(report);
        return new("age of the last surface reading (h)", $"RMSE ({Differences.Symbol(unit)})",
            [new("model", PlotKind.Line, [.. report.Nowcast.Where(n => n.All.RmseKelvin is not null).Select(n => new[] { n.AgeHours, Math.Round(Differences.In(n.All.RmseKelvin!.Value, unit), 3) })])])
        {
            Lines =
            [
                new(0, "", PlotTone.Quiet),
                new(Differences.In(report.DarkSensor.All.RmseKelvin ?? 0, unit), "model, dark sensor", PlotTone.Strong),
                new(Differences.In(report.HourOfDayTable.All.RmseKelvin ?? 0, unit), "hour-of-day table", PlotTone.Dashed),
            ],
        };
    }

    private static double[] Band(Interval interval, TemperatureUnit unit) =>
        [Math.Round(Differences.In(interval.Low, unit), 3), Math.Round(Differences.In(interval.High, unit), 3)];
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
