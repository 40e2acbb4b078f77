using PavementWatch.Core.Backtesting;


namespace PavementWatch.Dashboards.Analyst;

/// <summary>Backtests on uploaded files, one after another. The server runs them.</summary>
public interface IBacktests
{
    /// <summary>Puts a backtest into the queue.</summary>
    /// <returns>Its number; <c>null</c> when too many wait.</returns>
    Guid? Start(string file, string by, BacktestRequest request, IReadOnlyList<string> remarks);

    /// <summary>Reads a file of measurements.</summary>
    /// <param name="file">Its text.</param>
    /// <param name="cancellationToken">Whoever sent it gave up.</param>
    /// <returns>Its rows; <c>null</c> and why not, by line and column.</returns>
    (BacktestRows? Rows, string Fault) Read(TextReader file, CancellationToken cancellationToken);

    /// <summary>Ends a backtest that waits or is under way.</summary>
    /// <param name="id">Its number.</param>
    /// <param name="by">Who wants it.</param>
    /// <returns>Whether there was something to end.</returns>
    bool GiveUp(Guid id, string by);

    /// <summary>One backtest; <c>null</c> when it was never there, or is so old that it was dropped.</summary>
    BacktestRun? Find(Guid id);

    /// <summary>The newest ones, newest first.</summary>
    IReadOnlyList<BacktestRun> All();
}

/// <summary>A backtest now.</summary>
/// <param name="Id">Its number.</param>
/// <param name="File">Name of the file.</param>
/// <param name="By">Who asked for it.</param>
/// <param name="AskedAt">When, UTC.</param>
/// <param name="Request">What was asked; its rows are let go when it is done.</param>
/// <param name="Remarks">What was mended in the file.</param>
public sealed record BacktestRun(
    Guid Id, string File, string By, DateTimeOffset AskedAt, BacktestRequest Request, IReadOnlyList<string> Remarks)
{
    /// <summary>Whether it has begun; before, it waits for another one to end.</summary>
    public bool Begun { get; init; }

    /// <summary>[fraction] Share done, 0 to 1.</summary>
    public double DoneFraction { get; init; }

    /// <summary>What it found, when it is done.</summary>
    public BacktestReport? Report { get; init; }

    /// <summary>Why it found nothing, in a plain sentence; empty unless it failed.</summary>
    public string Fault { get; init; } = "";

    /// <summary>Whether there is nothing more to wait for.</summary>
    public bool Ended => Report is not null || Fault.Length > 0;
}
