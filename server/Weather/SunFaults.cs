using PavementWatch.Server.Faults;
using PavementWatch.Server.Hosting;

namespace PavementWatch.Server.Weather;

/// <summary>Raises a fault for each station and forecast whose sun is given and was not measured: estimates do without it, and the business is told.</summary>
internal sealed class SunFaults(WeatherStore places, ServiceFaults faults, TimeProvider time, ILogger<SunFaults> logger) : ServerBackgroundService
{
    private static readonly TimeSpan Period = TimeSpan.FromMinutes(1);

    /// <summary>A station that has sent nothing for longer is none any more.</summary>
    private static readonly TimeSpan Stays = TimeSpan.FromDays(1);

    private HashSet<string> _raised = new(StringComparer.Ordinal);

    /// <summary>Raises what is wrong now, and ends what is not any more.</summary>
    public void Look()
    {
        var now = time.GetUtcNow();
        var standing = new HashSet<string>(StringComparer.Ordinal);
        foreach (var place in places.AllRecent)
        {
            // The station's last row shows whether it is mended; of a forecast any day to come counts.
            if (place.Observed is { UnmeasuredSolar: { } dark, Solar.Span: { } span } && dark.Last == span.Last && now - span.Last < Stays)
                Raise("station", place.Observed.SolarSite, $"measures no sun since {dark.First:yyyy-MM-dd'T'HH:mm'Z'}, by day: look at its sensor and cable, and at the times it gives", standing);
            if (place.Forecast is { UnmeasuredSolar: { } without } && without.Last > now)
                Raise("forecast", place.Forecast.SolarSite, $"has no sun up to {without.Last:yyyy-MM-dd'T'HH:mm'Z'}, by day: look at what writes it, and at its time zone; leave the column out rather than write zeros", standing);
        }

        foreach (var ended in _raised.Except(standing))
            faults.End(ended);
        _raised = standing;
    }

    protected override Task RunAsync(CancellationToken stoppingToken) => RepeatAsync(
        Period,
        time,
        _ =>
        {
            Look();
            return Task.CompletedTask;
        },
        logger.SunNotLookedAt,
        stoppingToken);

    private void Raise(string what, string site, string words, HashSet<string> standing)
    {
        var key = $"sun.{what}.{site}";
        standing.Add(key);
        faults.Raise(key, $"weather {what} of {(site.Length > 0 ? site : "the business")}: {words}; estimates do without its sun meanwhile", failsHealth: false);
    }
}
