using System.CommandLine;
using System.Globalization;
using PavementWatch.Core.Backtesting;
using PavementWatch.Core.Offsets;
using PavementWatch.Core.Quantities;
using PavementWatch.Core.Readings;
using PavementWatch.Core.Surfaces;
using PavementWatch.Core.Weather;
using PavementWatch.Server.Analyst;
using PavementWatch.Server.Tables;

namespace PavementWatch.Server.Commands;

/// <summary>Scores the offset on a file of measurements, each day predicted from the days before it.</summary>
internal static class BacktestCommand
{
    private const int TellEveryLines = 500_000;

    public static void AddTo(RootCommand root)
    {
        var file = new Argument<string>("FILE")
        {
            Description = "CSV with time_utc,air_celsius,surface_celsius[,humidity_percent][,wind_mps][,solar_wm2]: columns in any order, times in UTC like 1998-06-01T12:30:00Z, numbers with a decimal point, an empty cell where nothing was measured. Of any size: more than 600,000 rows are averaged to steps, which is said.",
        };
        var latitude = Parsing.Degrees("--latitude", "North positive", QuantityRanges.Latitude);
        var longitude = Parsing.Degrees("--longitude", "East positive", QuantityRanges.Longitude);
        var surface = Parsing.Surface();
        var from = Parsing.Day("--from", "First local day to predict; the first with three days before it unless given.");
        var to = Parsing.Day("--to", "Last local day to predict, inclusive; the file's last unless given.");
        var limit = Parsing.Number("--limit", $"Count the days on which the surface crosses this temperature; {Spot.DefaultLimitCelsius} °C unless given", "CELSIUS", QuantityRanges.Surface);
        var zone = Parsing.Zone("IANA name whose midnights begin the days, e.g. America/Chicago; whole hours of solar time from the longitude unless given.");
        var inputs = new Option<OffsetInputs?>("--inputs")
        {
            Description = "What the offset may look at: air, and any of humidity, wind, solar; air,humidity unless given.",
            HelpName = "air[,humidity][,wind][,solar]",
            CustomParser = result =>
            {
                if (ReadInputs(Parsing.Text(result)) is { } read)
                    return read;
                result.AddError($"--inputs is '{Parsing.Text(result)}', expected air and any of humidity, wind, solar, joined by commas");
                return null;
            },
        };
        var json = new Option<bool>("--json") { Description = "Print one JSON object instead of the table." };
        var backtest = new Command(
            "backtest", "Replay a file of measurements: fit on the past each night, predict the next day without its surface readings, and score it.")
        {
            file, latitude, longitude, surface, from, to, zone, inputs, limit, json,
        };
        backtest.SetAction((parsed, cancellationToken) => RunAsync(
            parsed,
            parsed.GetRequiredValue(file),
            rows => new BacktestRequest(
                new Spot(SpotId.Parse("backtest"), "Backtest", parsed.GetValue(surface), parsed.GetValue(latitude), parsed.GetValue(longitude), "Etc/UTC"),
                rows)
            {
                From = parsed.GetValue(from),
                To = parsed.GetValue(to),
                TimeZone = parsed.GetValue(zone),
                Inputs = parsed.GetValue(inputs) ?? OffsetInputs.Humidity,
                LimitCelsius = parsed.GetValue(limit),
            },
            parsed.GetValue(json),
            cancellationToken));
        HandbookCommand.AddTo(backtest);
        root.Subcommands.Add(backtest);
    }

    private static async Task<int> RunAsync(
        ParseResult parsed, string file, Func<IReadOnlyList<WeatherSample>, BacktestRequest> request, bool json,
        CancellationToken cancellationToken)
    {
        var (output, error) = (parsed.InvocationConfiguration.Output, parsed.InvocationConfiguration.Error);
        BacktestRows rows;
        try
        {
            rows = await ReadAsync(file, error, cancellationToken);
        }
        catch (TableException e)
        {
            await error.WriteLineAsync($"backtest: {file}: {e.Message}");
            return CommandLine.Failed;
        }

        foreach (var remark in rows.Remarks)
            await error.WriteLineAsync($"backtest: {file}: {remark}");
        var lastTold = -1;
        var progress = new FitCommand.Told<double>(share =>
        {
            var percent = (int)(share * 100);
            if (percent / 10 == lastTold / 10 && lastTold >= 0)
                return;
            lastTold = percent;
            error.WriteLine($"backtest: {percent} % of the days");
        });
        BacktestReport report;
        try
        {
            report = await Task.Run(() => Backtest.Run(request(rows.Rows), progress, cancellationToken), cancellationToken);
        }
        catch (ArgumentException e)
        {
            await error.WriteLineAsync($"backtest: {e.Message}");
            return CommandLine.Failed;
        }

        if (report.DarkSensor.All.N == 0)
        {
            await error.WriteLineAsync(
                $"backtest: {file} has no measured surface on a day of the span with three days before it; it holds {rows.Rows[0].At:u} to {rows.Rows[^1].At:u}");
            return CommandLine.Failed;
        }

        await output.WriteLineAsync(json ? report.ToJson() : BacktestTable.Text(report));
        return CommandLine.Done;
    }

    private static async Task<BacktestRows> ReadAsync(string file, TextWriter error, CancellationToken cancellationToken)
    {
        using var reader = Parsing.OpenText(file);
        var length = Math.Max(1, reader.BaseStream.Length);
        var told = 0;
        var lines = new FitCommand.Told<int>(read =>
        {
            if (read / TellEveryLines == told)
                return;
            told = read / TellEveryLines;
            error.WriteLine(string.Create(
                CultureInfo.InvariantCulture, $"backtest: {read:N0} lines read, {100 * reader.BaseStream.Position / length} % of the file"));
        });
        return await Task.Run(() => BacktestCsv.Read(reader, lines, cancellationToken), cancellationToken);
    }

    private static OffsetInputs? ReadInputs(string text)
    {
        var inputs = OffsetInputs.AirOnly;
        var words = text.Split(',', StringSplitOptions.TrimEntries);
        if (!words.Contains("air"))
            return null;
        foreach (var word in words)
        {
            switch (word)
            {
                case "air":
                    break;
                case "humidity":
                    inputs |= OffsetInputs.Humidity;
                    break;
                case "wind":
                    inputs |= OffsetInputs.Wind;
                    break;
                case "solar":
                    inputs |= OffsetInputs.Solar;
                    break;
                default:
                    return null;
            }
        }

        return inputs;
    }
}
