using System.Text.Json;

namespace PavementWatch.Core.Backtesting;

/// <summary>What a backtest found. Its JSON is the object that <c>backtest --json</c> prints.</summary>
/// <param name="DarkSensor">Whole days predicted from earlier days, without a surface reading of the day.</param>
/// <param name="HourOfDayTable">The yardstick: median offset by local hour over the trailing 14 days, on the same rows.</param>
/// <param name="Nowcast">The same model with the last surface reading of a given age.</param>
/// <param name="Crossings">How well the dark sensor's warnings meet the limit.</param>
/// <param name="HottestTenth">The dark sensor on the hottest tenth of the rows.</param>
public sealed record BacktestReport(
    DarkSensorScores DarkSensor,
    Scores HourOfDayTable,
    IReadOnlyList<NowcastScores> Nowcast,
    CrossingScores Crossings,
    HottestScores HottestTenth)
{
    private static readonly JsonSerializerOptions Json = new(JsonSerializerDefaults.Web);

    /// <summary>Root mean square error of the model over that of the table, all hours; below 1 the model is better; <c>null</c> without rows.</summary>
    [System.Text.Json.Serialization.JsonIgnore]
    public double? RatioToTable => DarkSensor.All.RmseKelvin / HourOfDayTable.All.RmseKelvin;

    /// <summary>The report as one JSON object; a figure without rows is <c>null</c>.</summary>
    public string ToJson() => JsonSerializer.Serialize(this, Json);
}

/// <summary>Errors, estimate minus measurement.</summary>
/// <param name="N">Rows. Without any nothing is known of the errors: they are <c>null</c>, not 0.</param>
/// <param name="RmseKelvin">[K] Root mean square error.</param>
/// <param name="MaeKelvin">[K] Mean absolute error.</param>
/// <param name="BiasKelvin">[K] Mean error, positive when the estimate is too warm.</param>
public sealed record ErrorScore(int N, double? RmseKelvin, double? MaeKelvin, double? BiasKelvin);

/// <summary>Errors over all hours and with the sun above 6 degrees.</summary>
/// <param name="All">All hours.</param>
/// <param name="Day">Sun above 6 degrees.</param>
public sealed record Scores(ErrorScore All, ErrorScore Day);

/// <summary>The dark sensor's errors and its 90 % interval.</summary>
/// <param name="All">All hours.</param>
/// <param name="Day">Sun above 6 degrees.</param>
/// <param name="Interval">How honest the interval was.</param>
public sealed record DarkSensorScores(ErrorScore All, ErrorScore Day, IntervalScore Interval);

/// <summary>A 90 % interval against what was measured.</summary>
/// <param name="CoveragePercent">[%] Measurements inside; <c>null</c> without rows.</param>
/// <param name="MeanWidthKelvin">[K] Mean of upper minus lower end; <c>null</c> without rows.</param>
/// <param name="AboveUpperPercent">[%] Measurements over the upper end; <c>null</c> without rows.</param>
public sealed record IntervalScore(double? CoveragePercent, double? MeanWidthKelvin, double? AboveUpperPercent);

/// <summary>Where it matters: the tenth of the rows whose surface was expected hottest, before anybody knew what it would be.</summary>
/// <param name="N">Rows.</param>
/// <param name="RmseKelvin">[K] Root mean square error; this and all that follows is <c>null</c> without rows.</param>
/// <param name="MaeKelvin">[K] Mean absolute error.</param>
/// <param name="BiasKelvin">[K] Mean error, positive when the estimate is too warm.</param>
/// <param name="CoveragePercent">[%] Measurements inside the 90 % interval.</param>
/// <param name="AboveUpperPercent">[%] Measurements over its upper end: hotter than anybody was told to expect.</param>
/// <param name="AsMeasured">The temperature that warnings go by, on the tenth with the highest measured surface instead.</param>
public sealed record HottestScores(
    int N, double? RmseKelvin, double? MaeKelvin, double? BiasKelvin, double? CoveragePercent, double? AboveUpperPercent, ErrorScore AsMeasured);

/// <summary>Errors with the last surface reading of one age.</summary>
/// <param name="AgeHours">[h] Age of the last surface reading.</param>
/// <param name="All">All hours.</param>
/// <param name="Day">Sun above 6 degrees.</param>
/// <param name="Interval">How honest the interval was.</param>
public sealed record NowcastScores(double AgeHours, ErrorScore All, ErrorScore Day, IntervalScore Interval);

/// <summary>Days on which the surface reached the limit, against days on which the temperature that warnings go by did.</summary>
/// <param name="LimitCelsius">[°C] The limit.</param>
/// <param name="Hits">Days on which both did.</param>
/// <param name="Misses">Days on which the surface alone did.</param>
/// <param name="FalseAlarms">Days on which the estimate alone did.</param>
/// <param name="MedianErrorMinutes">[min] Median over the hits of estimated minus measured first crossing; <c>null</c> without a hit.</param>
public sealed record CrossingScores(double LimitCelsius, int Hits, int Misses, int FalseAlarms, double? MedianErrorMinutes);
