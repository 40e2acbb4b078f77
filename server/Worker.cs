namespace PavementWatch.Server;

/// <summary>Something the server does all the time beside answering. Every service of the host that works by itself is one.</summary>
/// <remarks>
/// It begins when every service of the host has started, so after all ports are bound: a server that cannot listen, as there is
/// another one, ends without having sent, marked or written anything.
/// </remarks>
internal abstract class Worker : BackgroundService, IHostedLifecycleService
{
    private readonly TaskCompletionSource _allStarted = new(TaskCreationOptions.RunContinuationsAsynchronously);

    /// <summary>The work, until the server stops.</summary>
    protected abstract Task RunAsync(CancellationToken stoppingToken);

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
