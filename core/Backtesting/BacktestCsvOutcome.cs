using PavementWatch.Core.Weather;

namespace PavementWatch.Core.Backtesting;

/// <summary>What reading a file of measurements gave.</summary>
public abstract record BacktestCsvOutcome
{
    private protected BacktestCsvOutcome()
    {
    }
}

/// <summary>The file's rows in time order.</summary>
/// <param name="Rows">Rows with air temperature, in time order, each time once.</param>
/// <param name="Remarks">What was mended on the way, in plain sentences, e.g. that rows were out of order; empty when nothing was.</param>
public sealed record BacktestRows(IReadOnlyList<WeatherSample> Rows, IReadOnlyList<string> Remarks) : BacktestCsvOutcome
{
    /// <summary>[min] Length of the steps to which the file's rows were averaged; <c>null</c> when each row stands as it was.</summary>
    public int? StepMinutes { get; init; }
}

/// <summary>The file cannot be used.</summary>
/// <param name="Line">Line of the fault, counted from 1; 0 when it is the whole file.</param>
/// <param name="Column">Name of the column, or empty.</param>
/// <param name="Found">What was found.</param>
/// <param name="Expected">What was expected.</param>
/// <param name="Remedy">What to do about it.</param>
public sealed record BacktestCsvFault(int Line, string Column, string Found, string Expected, string Remedy)
    : BacktestCsvOutcome
{
    /// <summary>The fault as one sentence.</summary>
    public override string ToString()
    {
        var where = Line > 0 ? $"line {Line}" + (Column.Length > 0 ? $", column {Column}" : "") + ": " : "";
        return $"{where}{Found}, expected {Expected}; {Remedy}";
    }
}
