using System.CommandLine;
using System.Globalization;
using PavementWatch.Core.Backtesting;
using PavementWatch.Core.Quantities;
using PavementWatch.Core.Readings;
using PavementWatch.Core.Surfaces;
using PavementWatch.Dashboards.Texts;
using PavementWatch.Server.Analyst;
using PavementWatch.Server.Tables;

namespace PavementWatch.Server.Commands;

/// <summary><c>backtest handbook</c>: what is said of ground that nobody measures, against surfaces measured for once.</summary>
internal static class HandbookCommand
{
    public static void AddTo(Command backtest)
    {
        var scenes = new Argument<string>("SCENES")
        {
            Description = "CSV with time_utc,surface_celsius[,kind][,station]: surfaces measured for once, e.g. by a satellite.",
        };
        var weather = new Argument<string>("WEATHER")
        {
            Description = "CSV with time_utc,air_celsius[,station][,humidity_percent][,wind_mps][,solar_wm2]: hourly means at the hours' ends, for the three days before each scene.",
        };
        var kind = new Option<string?>("--kind") { Description = "Only scenes of this kind, as the file writes it; all unless given.", HelpName = "KIND" };
        var latitude = Parsing.Degrees("--latitude", "North positive", QuantityRanges.Latitude);
        var longitude = Parsing.Degrees("--longitude", "East positive", QuantityRanges.Longitude);
        var surface = Parsing.Surface();
        var limit = Parsing.Number("--limit", $"From here a scene is hot; {Spot.DefaultLimitCelsius} °C unless given", "CELSIUS", QuantityRanges.Surface);
        var json = new Option<bool>("--json") { Description = "Print one JSON object instead of the table." };
        var handbook = new Command("handbook", "Hold what the handbook says of ground without readings against surfaces measured for once.")
        {
            scenes, weather, kind, latitude, longitude, surface, limit, json,
        };
        handbook.SetAction(async (parsed, cancellationToken) =>
        {
            var (output, error) = (parsed.InvocationConfiguration.Output, parsed.InvocationConfiguration.Error);
            var file = parsed.GetRequiredValue(scenes);
            try
            {
                using var sceneText = Parsing.OpenText(file);
                var read = HandbookCsv.Scenes(sceneText, parsed.GetValue(kind));
                using var weatherText = Parsing.OpenText(file = parsed.GetRequiredValue(weather));
                var rows = HandbookCsv.Weather(weatherText);
                var spot = new Spot(SpotId.Parse("handbook"), "Handbook", parsed.GetValue(surface), parsed.GetValue(latitude), parsed.GetValue(longitude), "Etc/UTC");
                var hot = parsed.GetValue(limit) ?? Spot.DefaultLimitCelsius;
                var report = await Task.Run(() => HandbookBacktest.Run(spot, read, rows, hot, cancellationToken), cancellationToken);
                if (report.All.N < read.Count)
                    await error.WriteLineAsync(Say($"backtest: {read.Count - report.All.N} of {read.Count} scenes have no weather at their moment and were left out"));
                if (report.All.N == 0)
                    return CommandLine.Failed;
                await output.WriteLineAsync(parsed.GetValue(json) ? report.ToJson() : Table(report, hot));
                return CommandLine.Done;
            }
            catch (TableException e)
            {
                await error.WriteLineAsync($"backtest: {file}: {e.Message}");
                return CommandLine.Failed;
            }
        });
        backtest.Subcommands.Add(handbook);
    }

    private static string Table(HandbookReport report, double limit) => string.Join(
        Environment.NewLine,
        $"{"handbook against surfaces measured for once",-48}{"n",7}{"median K",10}{"mean K",9}{"RMSE K",9}{"over %",9}",
        Line("all scenes", report.All),
        Line("summer days (May to September, sun over 30°)", report.SummerDay),
        Line($"hot: at {Temperatures.InSentence(limit, TemperatureUnit.Both)} and more", report.Hot),
        "errors are handbook minus measured; over: above the upper end of the 90 % interval");

    private static string Line(string what, HandbookScore score) =>
        $"{what,-48}{score.N,7}{Number(score.MedianBiasKelvin),10}{Number(score.BiasKelvin),9}{Number(score.RmseKelvin),9}{Number(score.AboveUpperPercent),9}";

    // No scenes are no error of 0.
    private static string Number(double? value) => value?.ToString("F1", CultureInfo.InvariantCulture) ?? "–";

    private static string Say(FormattableString text) => text.ToString(CultureInfo.InvariantCulture);
}
