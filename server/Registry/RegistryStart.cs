using Microsoft.EntityFrameworkCore;

namespace PavementWatch.Server.Registry;

/// <summary>Brings the registry's tables up to date and fills the catalogue before anything else starts.</summary>
internal sealed class RegistryStart(IDbContextFactory<RegistryDb> registry, SpotCatalogue catalogue)
    : IHostedLifecycleService
{
    public async Task StartingAsync(CancellationToken cancellationToken)
    {
        await using (var db = await registry.CreateDbContextAsync(cancellationToken))
            await db.Database.MigrateAsync(cancellationToken);
        await catalogue.RefreshAsync(cancellationToken);
    }

    public Task StartAsync(CancellationToken cancellationToken) => Task.CompletedTask;

    public Task StartedAsync(CancellationToken cancellationToken) => Task.CompletedTask;

    public Task StoppingAsync(CancellationToken cancellationToken) => Task.CompletedTask;

    public Task StopAsync(CancellationToken cancellationToken) => Task.CompletedTask;

    public Task StoppedAsync(CancellationToken cancellationToken) => Task.CompletedTask;
}
