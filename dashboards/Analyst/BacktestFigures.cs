using System.Globalization;
using PavementWatch.Core.Backtesting;

namespace PavementWatch.Dashboards.Analyst;

/// <summary>A backtest's scores as a table has them.</summary>
internal static class BacktestFigures
{
    /// <summary>Its rows, in order.</summary>
    public static IEnumerable<(string What, string Hours, ErrorScore Score)> Rows(BacktestReport report)
    {
        yield return ("model, dark sensor", "all", report.DarkSensor.All);
        yield return ("model, dark sensor", "sun above 6°", report.DarkSensor.Day);
        var hottest = report.HottestTenth;
        yield return ("model, dark sensor", "tenth expected hottest", new ErrorScore(hottest.N, hottest.RmseKelvin, hottest.MaeKelvin, hottest.BiasKelvin));
        yield return ("what warnings go by", "tenth measured hottest", hottest.AsMeasured);
        yield return ("hour-of-day table", "all", report.HourOfDayTable.All);
        yield return ("hour-of-day table", "sun above 6°", report.HourOfDayTable.Day);
        foreach (var nowcast in report.Nowcast)
        {
            var what = string.Create(CultureInfo.InvariantCulture, $"model, last surface {nowcast.AgeHours:0.#} h old");
            yield return (what, "all", nowcast.All);
            yield return (what, "sun above 6°", nowcast.Day);
        }
    }

    /// <summary>A figure; a dash without rows, which is no error of 0.</summary>
    public static string Text(double? value, string format = "0.00") => value?.ToString(format, CultureInfo.InvariantCulture) ?? "–";
}
