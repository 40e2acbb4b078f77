using Microsoft.Extensions.Options;
using PavementWatch.Gateway.Clock;
using PavementWatch.Gateway.Outbox;

namespace PavementWatch.Gateway.Sampling;

/// <summary>Samples at the set pace and puts the readings into the outbox.</summary>
internal sealed class OutboxFiller(
    ISampling sampling,
    ReadingOutbox outbox,
    GatewayClock clock,
    TimeProvider time,
    IOptions<SamplingOptions> options,
    ILogger<OutboxFiller> logger) : BackgroundService
{
    private long _steps;

    /// <summary>How many steps were taken; stands still when sampling does.</summary>
    public long Steps => Interlocked.Read(ref _steps);

    protected override async Task ExecuteAsync(CancellationToken stoppingToken)
    {
        // Sensors answer in their own time; the host goes on starting meanwhile.
        await Task.Yield();
        using var timer = new PeriodicTimer(options.Value.Period, time);
        try
        {
            do
            {
                Step();
            }
            while (await timer.WaitForNextTickAsync(stoppingToken));
        }
        catch (OperationCanceledException) when (stoppingToken.IsCancellationRequested)
        {
        }
    }

    private void Step()
    {
        try
        {
            clock.Observe();
            var readings = sampling.Step(clock.SamplingNow);
            if (readings.Count > 0)
                Keep([.. readings.Select(clock.Date)]);
            Interlocked.Increment(ref _steps);
        }
        catch (Exception error)
        {
            logger.StepFailed(error);
        }
    }

    private void Keep(List<TakenReading> taken)
    {
        var outcome = outbox.Append(taken);
        if (!logger.IsEnabled(LogLevel.Debug))
            return;
        foreach (var (reading, boot, sinceBoot, _) in taken)
        {
            logger.Kept(
                outcome.InMemory > 0 ? "in memory" : "on disk", reading.Spot.Value, reading.MeasuredAt, boot, (long)sinceBoot.TotalMilliseconds,
                reading.SurfaceCelsius, reading.AirCelsius, reading.HumidityPercent, reading.SensorCelsius, reading.LightLux, reading.SupplyVolts,
                reading.Quality, reading.Doubt);
        }
    }
}
