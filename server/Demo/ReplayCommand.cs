using System.CommandLine;
using System.Globalization;
using PavementWatch.Core.Offsets;
using PavementWatch.Core.Readings;
using PavementWatch.Core.Surfaces;

namespace PavementWatch.Server.Demo;

/// <summary>The verb <c>replay</c>: proves on somebody's own measurements that nothing is lost or changed on the way.</summary>
internal static class ReplayCommand
{
    public static void AddTo(RootCommand root)
    {
        var file = new Argument<FileInfo>("file") { Description = "CSV with time_utc,air_celsius,surface_celsius[,humidity_percent]." };
        file.AcceptExistingOnly();
        var surface = new Option<string>("--surface") { Description = "Surface kind, e.g. asphalt.", Required = true };
        surface.Validators.Add(result =>
        {
            if (!SurfaceKinds.TryParse(result.GetValueOrDefault<string>(), out _))
                result.AddError($"--surface must be one of {string.Join(", ", SurfaceKinds.All.Select(SurfaceKinds.Slug))}");
        });
        var latitude = Degrees("--latitude", 90);
        var longitude = Degrees("--longitude", 180);
        var zone = new Option<string>("--time-zone")
        {
            Description = "Time zone of the days, e.g. America/Chicago.",
            DefaultValueFactory = _ => "Etc/UTC",
        };
        zone.Validators.Add(result =>
        {
            if (!TimeZoneInfo.TryFindSystemTimeZoneById(result.GetValueOrDefault<string>() ?? "", out _))
                result.AddError("--time-zone must be an IANA name, e.g. America/Chicago");
        });
        var from = Day("--from", "First day (UTC), e.g. 1998-07-10.");
        var to = Day("--to", "Last day (UTC), inclusive.");
        var replay = new Command(
            "replay", "Send measured readings through outbox, broker, store, fit and curve, and compare with the file.")
        {
            file, surface, latitude, longitude, zone, from, to,
        };
        replay.SetAction((parsed, cancellationToken) => RunAsync(
            parsed.GetRequiredValue(file),
            new Spot(
                SpotId.Parse("replayed-spot"), "Replayed spot",
                SurfaceKinds.TryParse(parsed.GetRequiredValue(surface), out var kind) ? kind : SurfaceKind.Unknown,
                parsed.GetValue(latitude), parsed.GetValue(longitude), parsed.GetRequiredValue(zone)),
            parsed.GetValue(from), parsed.GetValue(to), cancellationToken));
        root.Subcommands.Add(replay);
    }

    private static Option<double> Degrees(string name, double most)
    {
        var option = new Option<double>(name) { Description = $"Degrees, {-most} to {most}.", Required = true };
        option.Validators.Add(result =>
        {
            if (Math.Abs(result.GetValue(option)) is not (>= 0 and var size) || size > most)
                result.AddError($"{name} must be {-most} to {most} degrees");
        });
        return option;
    }

    private static Option<DateOnly?> Day(string name, string description) => new(name)
    {
        Description = description,
        CustomParser = result =>
        {
            var text = result.Tokens.Count == 1 ? result.Tokens[0].Value : "";
            if (DateOnly.TryParseExact(text, "yyyy-MM-dd", CultureInfo.InvariantCulture, DateTimeStyles.None, out var day))
                return day;
            result.AddError($"{name} is '{text}', expected a day like 1998-07-10");
            return null;
        },
    };

    private static async Task<int> RunAsync(
        FileInfo file, Spot place, DateOnly? from, DateOnly? to, CancellationToken cancellationToken)
    {
        using var reader = file.OpenText();
        var outcome = BacktestCsv.Read(reader);
        if (outcome is not BacktestRows read)
        {
            await Console.Error.WriteLineAsync($"replay: {file.Name}, {outcome}");
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
                + (hottest is { } peak ? $"hottest {peak:F1} °C ({(peak * 9 / 5) + 32:F0} °F)" : "no surface measured"));
        }
    }

    private static string Span(IReadOnlyList<WeatherSample> rows) =>
        rows.Count == 0 ? "nothing" : $"{rows[0].At.UtcDateTime:yyyy-MM-dd HH:mm} to {rows[^1].At.UtcDateTime:yyyy-MM-dd HH:mm} UTC";
}
