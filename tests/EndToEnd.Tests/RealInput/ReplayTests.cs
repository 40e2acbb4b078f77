using PavementWatch.Core.Readings;
using PavementWatch.Core.Surfaces;
using PavementWatch.Core.Weather;
using PavementWatch.Server.Analyst;
using PavementWatch.Server.Demo;
using PavementWatch.Tests;

namespace PavementWatch.EndToEnd.Tests.RealInput;

/// <summary>Measured readings through gateway outbox, broker, server, store, fit and curve; the file is the truth.</summary>
public sealed class ReplayTests
{
    // Files: ../shared/data/README.md says who measured them and under which licence.
    [Theory]
    [InlineData("bondville-1998-half-hourly.csv", SurfaceKind.Grass, 40.01, -88.37, "America/Chicago", "1998-07-10", 6, 30)]
    [InlineData("hornsgatan-2010-summer-hourly.csv", SurfaceKind.Asphalt, 59.32, 18.05, "Europe/Stockholm", "2010-07-10", 7, 60)]
    public async Task Measured_days_come_back_as_they_were_measured(
        string file, SurfaceKind surface, double latitude, double longitude, string zone, string firstDay, int days, int everyMinutes)
    {
        using var reader = File.OpenText(SharedData.RequireFile(file));
        var all = BacktestCsv.Read(reader, null, TestContext.Current.CancellationToken).Rows;
        var from = DateTimeOffset.Parse($"{firstDay}T00:00:00Z");
        WeatherSample[] rows = [.. all.Where(row => row.At >= from && row.At < from.AddDays(days))];
        Assert.InRange(rows.Length, days * 24 * 60 / everyMinutes * 9 / 10, days * 24 * 60 / everyMinutes);

        var report = await Replay.RunAsync(
            rows, new Spot(SpotId.Parse("measured"), "Measured", surface, latitude, longitude, zone),
            TestContext.Current.CancellationToken);

        Assert.Empty(report.Differences);
        Assert.Equal(rows.Length, report.Stored);
        var measured = rows.Count(row => row.SurfaceCelsius is not null);
        Assert.InRange(report.Fit.SampleCount, measured * 9 / 10, measured);

        // The curve draws the file's own values at the file's own times.
        var drawn = report.Days.SelectMany(day => day.Points)
            .Where(point => point.SurfaceCelsius is not null)
            .ToDictionary(point => point.At, point => point.SurfaceCelsius);
        Assert.All(
            rows.Where(row => row.SurfaceCelsius is not null),
            row => Assert.Equal(row.SurfaceCelsius, drawn[row.At]));
    }
}
