namespace PavementWatch.Gateway.Clock;

/// <summary>Looks at the clocks before anybody is told of them: the first status would say for ten minutes that no time is known.</summary>
internal sealed class ClockStart(GatewayClock clock, ILogger<ClockStart> logger) : IHostedLifecycleService
{
    public Task StartingAsync(CancellationToken cancellationToken)
    {
        try
        {
            clock.Observe();
        }
        catch (Exception error)
        {
            // The sampling looks again within seconds.
            logger.FirstLookFailed(error);
        }

        return Task.CompletedTask;
    }

    public Task StartAsync(CancellationToken cancellationToken) => Task.CompletedTask;

    public Task StartedAsync(CancellationToken cancellationToken) => Task.CompletedTask;

    public Task StoppingAsync(CancellationToken cancellationToken) => Task.CompletedTask;

    public Task StopAsync(CancellationToken cancellationToken) => Task.CompletedTask;

    public Task StoppedAsync(CancellationToken cancellationToken) => Task.CompletedTask;
}
