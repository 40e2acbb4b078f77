namespace PavementWatch.Server.Hosting;

/// <summary>Something the server does all the time beside answering. Every service of the host that works by itself is one.</summary>
/// <remarks>
/// It begins when every service of the host has started, so after all ports are bound: a server that cannot listen, as there is
/// another one, ends without having sent, marked or written anything.
/// </remarks>
internal abstract class ServerBackgroundService : BackgroundService, IHostedLifecycleService
{
    private readonly TaskCompletionSource _allStarted = new(TaskCreationOptions.RunContinuationsAsynchronously);

    /// <summary>The work, until the server stops.</summary>
    protected abstract Task RunAsync(CancellationToken stoppingToken);

    /// <summary>Work that is the same at once and then each period. A round that fails is told, and the next comes all the same.</summary>
    protected static async Task RepeatAsync(
        TimeSpan period, TimeProvider time, Func<CancellationToken, Task> round, Action<Exception> failed, CancellationToken stoppingToken)
    {
        using var timer = new PeriodicTimer(period, time);
        try
        {
            do
            {
                try
                {
                    await round(stoppingToken);
                }
                catch (Exception e) when (e is not OperationCanceledException)
                {
                    failed(e);
                }
            }
            while (await timer.WaitForNextTickAsync(stoppingToken));
        }
        catch (OperationCanceledException) when (stoppingToken.IsCancellationRequested)
        {
            // A normal end.
        }
    }

    public Task StartedAsync(CancellationToken cancellationToken)
    {
        _allStarted.TrySetResult();
        return Task.CompletedTask;
    }

    public Task StartingAsync(CancellationToken cancellationToken) => Task.CompletedTask;

    public Task StoppingAsync(CancellationToken cancellationToken) => Task.CompletedTask;

    public Task StoppedAsync(CancellationToken cancellationToken) => Task.CompletedTask;

    protected sealed override async Task ExecuteAsync(CancellationToken stoppingToken)
    {
        try
        {
            await _allStarted.Task.WaitAsync(stoppingToken);
        }
        catch (OperationCanceledException) when (stoppingToken.IsCancellationRequested)
        {
            return;
        }

        await RunAsync(stoppingToken);
    }
}
