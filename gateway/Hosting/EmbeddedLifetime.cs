namespace PavementWatch.Gateway.Hosting;

/// <summary>Leaves Ctrl-C and signals to whoever started the gateway: the command line, the demo, a test.</summary>
internal sealed class EmbeddedLifetime : IHostLifetime
{
    public Task WaitForStartAsync(CancellationToken cancellationToken) => Task.CompletedTask;

    public Task StopAsync(CancellationToken cancellationToken) => Task.CompletedTask;
}
