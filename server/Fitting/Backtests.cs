using System.Collections.Concurrent;
using System.Threading.Channels;
using PavementWatch.Core.Offsets;
using PavementWatch.Dashboards.Analyst;
using PavementWatch.Server.Access;

namespace PavementWatch.Server.Fitting;

/// <summary>Runs uploaded backtests one at a time, so that the watch keeps its processor; the results live in memory.</summary>
internal sealed class Backtests([FromKeyedServices(Clocks.People)] TimeProvider time, ILogger<Backtests> logger)
    : BackgroundService, IBacktests
{
    /// <summary>How many may wait; each holds its file in memory.</summary>
    public const int MostWaiting = 3;

    /// <summary>How many results are kept.</summary>
    public const int MostKept = 20;

    private readonly ConcurrentDictionary<Guid, BacktestRun> _runs = [];
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

    public BacktestRun? Find(Guid id) => _runs.GetValueOrDefault(id);

    public IReadOnlyList<BacktestRun> All() => [.. _runs.Values.OrderByDescending(r => r.AskedAt)];

    protected override async Task ExecuteAsync(CancellationToken stoppingToken)
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
        var run = _runs[id];
        // The rows are large and needed no longer than this.
        var rest = run with { Request = run.Request with { Rows = [] }, DoneFraction = 1 };
        try
        {
            var report = Backtest.Run(run.Request, new Told(share => _runs[id] = run with { DoneFraction = share }), cancellationToken);
            _runs[id] = report.DarkSensor.All.N > 0
                ? rest with { Report = report }
                : rest with { Fault = $"The file has no measured surface on a day of the span with three days before it; it holds {run.Request.Rows[0].At:u} to {run.Request.Rows[^1].At:u}." };
        }
        catch (ArgumentException e)
        {
            _runs[id] = rest with { Fault = e.Message };
        }
        catch (Exception e) when (e is not OperationCanceledException)
        {
            // The loop's edge: one file that breaks the model leaves the next ones their turn.
            logger.BacktestFailed(e);
            _runs[id] = rest with { Fault = "The backtest failed; the server's log says why." };
        }
    }

    private sealed class Told(Action<double> tell) : IProgress<double>
    {
        public void Report(double value) => tell(value);
    }
}
