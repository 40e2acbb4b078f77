using PavementWatch.Core.Weather;

namespace PavementWatch.Core.Backtesting;

/// <summary>Measured rows in time order, as <see cref="RowIntake"/> gives them.</summary>
/// <param name="Rows">Rows with air temperature, in time order, each time once.</param>
/// <param name="Remarks">What was mended on the way, in plain sentences, e.g. that rows were out of order; empty when nothing was.</param>
public sealed record BacktestRows(IReadOnlyList<WeatherSample> Rows, IReadOnlyList<string> Remarks)
{
    /// <summary>[min] Length of the steps to which the rows were averaged; <c>null</c> when each row stands as it was.</summary>
    public int? StepMinutes { get; init; }
}
