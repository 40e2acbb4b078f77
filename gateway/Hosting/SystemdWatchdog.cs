using System.Globalization;
using Microsoft.Extensions.Hosting.Systemd;
using Microsoft.Extensions.Options;
using PavementWatch.Gateway.Publishing;
using PavementWatch.Gateway.Sampling;

namespace PavementWatch.Gateway.Hosting;

/// <summary>Tells systemd that the gateway is alive as long as its sampling and its publishing go on; when one stands still, systemd starts it anew.</summary>
internal sealed class SystemdWatchdog(
    ISystemdNotifier notifier, OutboxFiller filler, ReadingPublisher publisher, IOptions<SamplingOptions> sampling, TimeProvider time) : BackgroundService
{
    private static readonly ServiceState Alive = new("WATCHDOG=1");

    // Sensors may need a while; three missed rounds are none.
    private readonly TimeSpan _stillAfter = 3 * sampling.Value.Period + TimeSpan.FromSeconds(30);
    private (long Steps, long At) _moved = (filler.Steps, time.GetTimestamp());

    /// <summary>Whether sampling and publishing go on. An attempt to publish that fails in its time is fine; one that never ends is not.</summary>
    public bool IsAlive()
    {
        if (filler.Steps is var now && now != _moved.Steps)
            _moved = (now, time.GetTimestamp());
        return time.GetElapsedTime(_moved.At) < _stillAfter && !publisher.IsStuck;
    }

    protected override async Task ExecuteAsync(CancellationToken stoppingToken)
    {
        if (Patience(Environment.GetEnvironmentVariable("WATCHDOG_USEC")) is not { } patience)
            return;
        using var timer = new PeriodicTimer(patience / 4, time);
        try
        {
            do
            {
                if (IsAlive())
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
