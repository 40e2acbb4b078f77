using System.Globalization;
using Microsoft.Extensions.Hosting.Systemd;
using Microsoft.Extensions.Options;
using PavementWatch.Gateway.Outbox;
using PavementWatch.Gateway.Sampling;

namespace PavementWatch.Gateway.Watchdog;

/// <summary>Tells systemd that the gateway is alive as long as its sampling goes on; when it stands still, systemd starts it anew.</summary>
internal sealed class SystemdWatchdog(ISystemdNotifier notifier, OutboxFiller filler, IOptions<SamplingOptions> sampling, TimeProvider time) : BackgroundService
{
    private static readonly ServiceState Alive = new("WATCHDOG=1");

    protected override async Task ExecuteAsync(CancellationToken stoppingToken)
    {
        if (Patience(Environment.GetEnvironmentVariable("WATCHDOG_USEC")) is not { } patience)
            return;
        // Sensors may need a while; three missed rounds are none.
        var stillAfter = 3 * sampling.Value.Period + TimeSpan.FromSeconds(30);
        var (steps, movedAt) = (filler.Steps, time.GetTimestamp());
        using var timer = new PeriodicTimer(patience / 4, time);
        try
        {
            do
            {
                if (filler.Steps is var now && now != steps)
                    (steps, movedAt) = (now, time.GetTimestamp());
                if (time.GetElapsedTime(movedAt) < stillAfter)
                    notifier.Notify(Alive);
            }
            while (await timer.WaitForNextTickAsync(stoppingToken));
        }
        catch (OperationCanceledException) when (stoppingToken.IsCancellationRequested)
        {
        }
    }

    /// <summary>How long systemd waits for a sign of life; <c>null</c> when it does not.</summary>
    internal static TimeSpan? Patience(string? microseconds) =>
        long.TryParse(microseconds, NumberStyles.None, CultureInfo.InvariantCulture, out var number) && number > 0
            ? TimeSpan.FromMicroseconds(number)
            : null;
}
