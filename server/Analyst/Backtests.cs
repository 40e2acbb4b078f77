using System.Collections.Concurrent;
using System.Threading.Channels;
using PavementWatch.Core.Backtesting;
using PavementWatch.Dashboards.Analyst;
using PavementWatch.Server.Fitting;
using PavementWatch.Server.Hosting;
using PavementWatch.Server.Tables;

namespace PavementWatch.Server.Analyst;

/// <summary>Runs uploaded backtests one at a time, so that the watch keeps its processor; the results live in memory.</summary>
internal sealed class Backtests([FromKeyedServices(Clocks.People)] TimeProvider time, ILogger<Backtests> logger)
    : ServerBackgroundService, IBacktests
{
    /// <summary>How many may wait; each holds its rows in memory, 53 MB at most.</summary>
    public const int MostWaiting = 3;

    /// <summary>How many results are kept.</summary>
    public const int MostKept = 20;

    private readonly ConcurrentDictionary<Guid, BacktestRun> _runs = [];
    private readonly ConcurrentDictionary<Guid, CancellationTokenSource> _stops = [];
    private readonly Channel<Guid> _waiting = Channel.CreateBounded<Guid>(MostWaiting);

    public Guid? Start(string file, string by, BacktestRequest request, IReadOnlyList<string> remarks)
    {
        var run = new BacktestRun(Guid.NewGuid(), file, by, time.GetUtcNow(), request, remarks);
        _runs[run.Id] = run;
        if (!_waiting.Writer.TryWrite(run.Id))
        {
            _runs.TryRemove(run.Id, out _);
            return null;
        }

        foreach (var old in All().Where(r => r.Ended).Skip(MostKept))
            _runs.TryRemove(old.Id, out _);
        return run.Id;
    }

    public (BacktestRows? Rows, string Fault) Read(TextReader file, CancellationToken cancellationToken)
    {
        try
        {
            return (BacktestCsv.Read(file, null, cancellationToken), "");
        }
        catch (TableException e)
        {
            return (null, e.Message);
        }
    }

    public bool GiveUp(Guid id, string by)
    {
        if (Find(id) is not { Ended: false } run)
            return false;
        // Whichever of the two ends it, the page says who did.
        if (!_runs.TryUpdate(id, Rest(run) with { Fault = $"Stopped by {by}." }, run))
            return GiveUp(id, by);
        if (_stops.TryGetValue(id, out var stop))
            stop.Cancel();
        return true;
    }

    public BacktestRun? Find(Guid id) => _runs.GetValueOrDefault(id);

    public IReadOnlyList<BacktestRun> All() => [.. _runs.Values.OrderByDescending(r => r.AskedAt)];

    protected override async Task RunAsync(CancellationToken stoppingToken)
    {
        try
        {
            await foreach (var id in _waiting.Reader.ReadAllAsync(stoppingToken))
                await Task.Run(() => Run(id, stoppingToken), stoppingToken);
        }
        catch (OperationCanceledException) when (stoppingToken.IsCancellationRequested)
        {
            // The server stops; a backtest can be asked for again.
        }
    }

    private void Run(Guid id, CancellationToken cancellationToken)
    {
        using var stop = CancellationTokenSource.CreateLinkedTokenSource(cancellationToken);
        _stops[id] = stop;
        try
        {
            var run = _runs.AddOrUpdate(id, _ => throw new InvalidOperationException("a run is known before it waits"), (_, r) => r.Ended ? r : r with { Begun = true });
            if (!run.Ended)
                Change(id, Score(run, stop.Token));
        }
        catch (OperationCanceledException) when (!cancellationToken.IsCancellationRequested)
        {
            // Stopped; whoever stopped it has said so.
        }
        finally
        {
            _stops.TryRemove(id, out _);
        }
    }

    private BacktestRun Score(BacktestRun run, CancellationToken cancellationToken)
    {
        try
        {
            var report = Backtest.Run(run.Request, new Told(share => Change(run.Id, run with { DoneFraction = share })), cancellationToken);
            return report.DarkSensor.All.N > 0
                ? Rest(run) with { Report = report }
                : Rest(run) with { Fault = $"The file has no measured surface on a day of the span with three days before it; it holds {run.Request.Rows[0].At:u} to {run.Request.Rows[^1].At:u}." };
        }
        catch (ArgumentException e)
        {
            return Rest(run) with { Fault = e.Message };
        }
        catch (Exception e) when (e is not OperationCanceledException)
        {
            // The loop's edge: one file that breaks the model leaves the next ones their turn.
            logger.BacktestFailed(e);
            return Rest(run) with { Fault = "The backtest failed; the server's log says why." };
        }
    }

    /// <summary>Keeps how a run stands now, unless it has ended meanwhile.</summary>
    private void Change(Guid id, BacktestRun now) => _runs.AddOrUpdate(id, now, (_, before) => before.Ended ? before : now);

    /// <summary>A run that is over: its rows are large and needed no longer.</summary>
    private static BacktestRun Rest(BacktestRun run) => run with { Request = run.Request with { Rows = [] }, DoneFraction = 1, Begun = true };

    private sealed class Told(Action<double> tell) : IProgress<double>
    {
        public void Report(double value) => tell(value);
    }
}
