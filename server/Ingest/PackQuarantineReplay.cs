using PavementWatch.Server.Hosting;

namespace PavementWatch.Server.Ingest;

/// <summary>Stores at the start what an earlier run had to set aside.</summary>
internal sealed class PackQuarantineReplay(PackQuarantine packs, IngestPipeline pipeline, ILogger<PackQuarantineReplay> logger) : ServerBackgroundService
{
    protected override async Task RunAsync(CancellationToken stoppingToken)
    {
        await packs.RecoverAsync(stoppingToken);
        foreach (var pack in packs.All())
        {
            stoppingToken.ThrowIfCancellationRequested();
            try
            {
                var payload = await File.ReadAllBytesAsync(pack.Path, stoppingToken);
                if (await pipeline.StoreAsideAsync(payload, pack.ReceivedAt) is not { } stored)
                    continue;
                await packs.RemoveAsync(pack);
                Log.AsideStored(logger, pack.Gateway, pack.ReceivedAt, stored);
            }
            catch (Exception failure) when (failure is IOException or UnauthorizedAccessException)
            {
                Log.AsideNotStored(logger, pack.Path, failure.Message);
            }
        }

        await packs.TellAsync();
    }
}
