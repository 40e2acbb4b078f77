using System.Globalization;
using System.Text;
using PavementWatch.Core.Backtesting;
using PavementWatch.Dashboards.Texts;

namespace PavementWatch.Server.Commands;

/// <summary>A backtest's figures as people read them.</summary>
internal static class BacktestTable
{
    public static string Text(BacktestReport report)
    {
        var text = new StringBuilder();
        Line(text, $"{"surface temperature estimated from the air",-48}{"n",7}{"RMSE K",9}{"MAE K",9}{"bias K",9}");
        Score(text, "model, dark sensor, all hours", report.DarkSensor.All);
        Score(text, "model, dark sensor, sun above 6 degrees", report.DarkSensor.Day);
        Score(text, "hour-of-day table, all hours", report.HourOfDayTable.All);
        Score(text, "hour-of-day table, sun above 6 degrees", report.HourOfDayTable.Day);
        foreach (var nowcast in report.Nowcast)
        {
            Score(text, $"model, last surface {nowcast.AgeHours} h old, all hours", nowcast.All);
            Score(text, $"model, last surface {nowcast.AgeHours} h old, sun above 6 degrees", nowcast.Day);
        }

        var hottest = report.HottestTenth;
        Score(text, "model, dark sensor, tenth expected hottest", new ErrorScore(hottest.N, hottest.RmseKelvin, hottest.MaeKelvin, hottest.BiasKelvin));
        Score(text, "what warnings go by, tenth measured hottest", hottest.AsMeasured);
        var interval = report.DarkSensor.Interval;
        Line(text, $"90 % interval of the dark sensor: holds {Number(interval.CoveragePercent, "F1")} % of the readings, {Number(interval.MeanWidthKelvin, "F1")} K wide on average");
        Line(text, $"over its upper end: {Number(interval.AboveUpperPercent, "F1")} % of all; in the tenth expected hottest it holds {Number(hottest.CoveragePercent, "F1")} %, {Number(hottest.AboveUpperPercent, "F1")} % are over its upper end");
        var crossings = report.Crossings;
        var error = crossings.MedianErrorMinutes is { } minutes ? $"first crossing {minutes:+0;-0;0} min (median)" : "no crossing to time";
        Line(text, $"limit {crossings.LimitCelsius:F1} °C ({Temperatures.ToFahrenheit(crossings.LimitCelsius):F0} °F): {crossings.Hits} days hit, {crossings.Misses} missed, {crossings.FalseAlarms} false alarms, {error}");
        Line(text, $"RMSE of the model is {Number(report.RatioToTable, "F3")} of the table's; below 1 the model is better");
        return text.ToString().TrimEnd();
    }

    private static void Score(StringBuilder text, string what, ErrorScore score) =>
        Line(text, $"{what,-48}{score.N,7}{Number(score.RmseKelvin),9}{Number(score.MaeKelvin),9}{Number(score.BiasKelvin),9}");

    // No rows are no error of 0.
    private static string Number(double? value, string format = "F2") => value?.ToString(format, CultureInfo.InvariantCulture) ?? "–";

    private static void Line(StringBuilder text, FormattableString line) =>
        text.AppendLine(line.ToString(CultureInfo.InvariantCulture));
}
