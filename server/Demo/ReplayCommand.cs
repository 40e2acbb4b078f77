using System.CommandLine;
using System.Globalization;
using PavementWatch.Core.Backtesting;
using PavementWatch.Core.Quantities;
using PavementWatch.Core.Readings;
using PavementWatch.Core.Surfaces;
using PavementWatch.Core.Weather;
using PavementWatch.Dashboards.Texts;
using PavementWatch.Server.Analyst;
using PavementWatch.Server.Commands;
using PavementWatch.Server.Setup;
using PavementWatch.Server.Tables;

namespace PavementWatch.Server.Demo;

/// <summary>The verb <c>replay</c>: proves on somebody's own measurements that nothing is lost or changed on the way.</summary>
internal static class ReplayCommand
{
    public static void AddTo(RootCommand root)
    {
        var file = new Argument<FileInfo>("FILE") { Description = "CSV with time_utc,air_celsius,surface_celsius[,humidity_percent]." };
        file.AcceptExistingOnly();
        var surface = Parsing.Surface();
        var latitude = Parsing.Degrees("--latitude", "North positive", QuantityRanges.Latitude);
        var longitude = Parsing.Degrees("--longitude", "East positive", QuantityRanges.Longitude);
        var zone = Parsing.Zone("IANA name of the time zone of the curves' days, e.g. America/Chicago; whole hours of solar time from the longitude unless given.");
        var from = Parsing.Day("--from", "First UTC day, e.g. 1998-07-10; the file's first unless given.");
        var to = Parsing.Day("--to", "Last UTC day, inclusive; the file's last unless given.");
        var replay = new Command(
            "replay", "Send measured readings through outbox, broker, store, fit and curve, and compare with the file.")
        {
            file, surface, latitude, longitude, zone, from, to,
        };
        replay.SetAction((parsed, cancellationToken) => RunAsync(
            parsed.GetRequiredValue(file),
            new Spot(
                SpotId.Parse("replayed-spot"), "Replayed spot",
                parsed.GetValue(surface), parsed.GetValue(latitude), parsed.GetValue(longitude),
                parsed.GetValue(zone)?.Id ?? SolarZone(parsed.GetValue(longitude))),
            parsed.GetValue(from), parsed.GetValue(to), cancellationToken));
        root.Subcommands.Add(replay);
    }

    // The zones of whole hours are named after the way to UTC, so west is plus.
    private static string SolarZone(double longitudeDegrees) => Math.Round(longitudeDegrees / 15) switch
    {
        0 => "Etc/UTC",
        var east and > 0 => string.Create(CultureInfo.InvariantCulture, $"Etc/GMT-{east}"),
        var west => string.Create(CultureInfo.InvariantCulture, $"Etc/GMT+{-west}"),
    };

    private static async Task<int> RunAsync(
        FileInfo file, Spot place, DateOnly? from, DateOnly? to, CancellationToken cancellationToken)
    {
        if (SpotStore.Fault(place) is { } fault)
        {
            await Console.Error.WriteLineAsync($"replay: {fault}");
            return CommandLine.BadUsage;
        }

        BacktestRows read;
        try
        {
            using var reader = file.OpenText();
            read = BacktestCsv.Read(reader, null, cancellationToken);
        }
        catch (TableException e)
        {
            await Console.Error.WriteLineAsync($"replay: {file.Name}, {e.Message}");
            return 1;
        }

        if (read.StepMinutes is not null)
        {
            await Console.Error.WriteLineAsync($"replay: {file.Name} has more than {RowIntake.MostRows} rows, and replay compares each one; cut the file to the days of interest");
            return 1;
        }

        foreach (var remark in read.Remarks)
            await Console.Error.WriteLineAsync($"replay: {remark}");
        WeatherSample[] rows =
        [
            .. read.Rows.Where(row => DateOnly.FromDateTime(row.At.UtcDateTime) is var day
                && day >= (from ?? DateOnly.MinValue) && day <= (to ?? DateOnly.MaxValue)),
        ];
        if (rows.Length == 0)
        {
            await Console.Error.WriteLineAsync($"replay: {file.Name} has no rows in that span; it holds {Span(read.Rows)}");
            return 1;
        }

        var report = await Replay.RunAsync(rows, place, cancellationToken);
        Print(file.Name, rows, report);
        return report.Differences.Count == 0 && report.Stored == report.Sent ? 0 : 1;
    }

    private static void Print(string name, WeatherSample[] rows, ReplayReport report)
    {
        Console.WriteLine($"{name}, {Span(rows)}");
        Console.WriteLine($"  rows in the file          {report.Rows}");
        Console.WriteLine($"  readings acknowledged     {report.Sent}");
        Console.WriteLine($"  readings in the store     {report.Stored}");
        Console.WriteLine(report.Differences.Count == 0
            ? "  compared with the file    equal, record by record"
            : $"  compared with the file    {report.Differences.Count} differ");
        foreach (var difference in report.Differences.Take(10))
            Console.WriteLine($"    {difference}");
        Console.WriteLine(
            $"  fit                       {report.Fit.SampleCount} samples, mean offset {report.Fit.MeanOffsetKelvin:+0.00;-0.00} K, "
            + $"residual scale {report.Fit.ResidualScaleKelvin:F2} K");
        foreach (var day in report.Days)
        {
            var hottest = day.Points.Max(point => point.SurfaceCelsius);
            Console.WriteLine(
                $"  curve of {day.Day:yyyy-MM-dd}       {day.Points.Count(point => point.SurfaceCelsius is not null)} points, "
                + (hottest is { } peak ? $"hottest {peak:F1} °C ({Temperatures.ToFahrenheit(peak):F0} °F)" : "no surface measured"));
        }
    }

    private static string Span(IReadOnlyList<WeatherSample> rows) =>
        rows.Count == 0 ? "nothing" : $"{rows[0].At.UtcDateTime:yyyy-MM-dd HH:mm} to {rows[^1].At.UtcDateTime:yyyy-MM-dd HH:mm} UTC";
}
