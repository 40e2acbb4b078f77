using Microsoft.Extensions.Diagnostics.HealthChecks;
using Microsoft.Extensions.Options;
using PavementWatch.Server.Hosting;

namespace PavementWatch.Server.Weather;

/// <summary>Looks at the forecast's file and address, takes what is new, and removes what is kept no longer. What cannot be read leaves the last good one.</summary>
internal sealed class ForecastWatch(
    WeatherStore store, WeatherIntake intake, IOptions<WeatherOptions> options, TimeProvider time, ILogger<ForecastWatch> logger)
    : ServerBackgroundService, IHealthCheck
{
    private static readonly TimeSpan PruneEvery = TimeSpan.FromHours(1);

    private readonly HttpClient _client = ForecastAddress.Client();
    private readonly DateTimeOffset _startedAt = time.GetUtcNow();
    private List<ForecastSource> _sources = [];
    private DateTimeOffset _prunedAt = DateTimeOffset.MinValue;

    public Task<HealthCheckResult> CheckHealthAsync(HealthCheckContext context, CancellationToken cancellationToken)
    {
        var sources = _sources;
        if (sources.Count == 0)
            return Task.FromResult(HealthCheckResult.Healthy("no forecast is fetched; estimates take the air to repeat its last day unless one is sent"));
        if (sources.FirstOrDefault(s => s.Fault is not null) is { } broken)
            return Task.FromResult(HealthCheckResult.Degraded($"the forecast from {broken.Name} was not taken, what is there stays: {broken.Fault}"));
        var now = time.GetUtcNow();
        var until = store.Recent(store.FindSite(options.Value.ForecastSite) ?? "").Forecast.Air.Span?.Last;
        // The first look takes its time.
        return Task.FromResult(until > now || now - _startedAt < TimeSpan.FromMinutes(1)
            ? HealthCheckResult.Healthy(until is { } end ? $"the forecast reaches to {end:yyyy-MM-dd'T'HH:mm'Z'}" : "looking for the first forecast")
            : HealthCheckResult.Degraded("the forecast does not reach beyond now; look at what writes it"));
    }

    public override void Dispose()
    {
        _client.Dispose();
        base.Dispose();
    }

    protected override async Task RunAsync(CancellationToken stoppingToken)
    {
        var asked = options.Value;
        _sources =
        [
            .. asked.ForecastFile.Length > 0 ? [new ForecastFile(Path.GetFullPath(asked.ForecastFile))] : Array.Empty<ForecastSource>(),
            .. asked.ForecastUrl.Length > 0 ? [new ForecastAddress(asked.ForecastUrl, _client)] : Array.Empty<ForecastSource>(),
        ];
        await Task.Yield();
        using var timer = new PeriodicTimer(asked.ForecastEvery, time);
        try
        {
            do
            {
                await LookAsync(stoppingToken);
            }
            while (await timer.WaitForNextTickAsync(stoppingToken));
        }
        catch (OperationCanceledException) when (stoppingToken.IsCancellationRequested)
        {
            // The server stops.
        }
    }

    private async Task LookAsync(CancellationToken cancellationToken)
    {
        try
        {
            foreach (var source in _sources)
                await LookAsync(source, cancellationToken);
            if (time.GetUtcNow() - _prunedAt < PruneEvery)
                return;
            _prunedAt = time.GetUtcNow();
            if (await store.PruneAsync(TimeSpan.FromDays(options.Value.KeepDays), cancellationToken) is > 0 and var gone)
                logger.Pruned(gone);
        }
        catch (Exception e) when (e is not OperationCanceledException)
        {
            // The loop's edge: one failed look leaves the next its turn.
            logger.LookFailed(e);
        }
    }

    private async Task LookAsync(ForecastSource source, CancellationToken cancellationToken)
    {
        var look = await source.LookAsync(time.GetUtcNow(), cancellationToken);
        if (look.Fault is { } missing)
        {
            // What comes after it ends the fault, also if it is what was there before.
            source.Forget();
            Refuse(source, missing);
            return;
        }

        if (look.Text is not { } text)
            return;
        if (store.FindSite(options.Value.ForecastSite) is not { } site)
        {
            source.Forget();
            Refuse(source, $"Weather:ForecastSite is '{options.Value.ForecastSite}', expected a site of a spot: {string.Join(", ", store.Sites)}");
            return;
        }

        using var reader = new StringReader(text);
        var receipt = await intake.TakeAsync(WeatherIntake.Read(reader), site, WeatherKind.Forecast, look.IssuedAt, cancellationToken);
        if (receipt is RefusedWeather refused)
        {
            Refuse(source, refused.Fault.ToString());
            return;
        }

        source.Fault = null;
        var stored = receipt.ToString()!;
        logger.ForecastTaken(source.Name, stored);
    }

    private void Refuse(ForecastSource source, string fault)
    {
        // Said once, not at every look.
        if (source.Fault != fault)
            logger.ForecastRefused(source.Name, fault);
        source.Fault = fault;
    }
}
