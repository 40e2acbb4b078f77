using Microsoft.Extensions.Logging.Abstractions;
using Microsoft.Extensions.Options;
using PavementWatch.Core.Readings;
using PavementWatch.Gateway.Outbox;

namespace PavementWatch.Gateway.Tests.Outbox;

/// <summary>Readings and outboxes as the tests need them.</summary>
internal static class Some
{
    public static readonly DateTimeOffset Noon = new(2026, 7, 10, 12, 0, 0, TimeSpan.Zero);

    public const string Boot = "boot-1";

    public static TakenReading Reading(int minute, string spot = "quarry-steps", double surfaceCelsius = 41.25) =>
        new(
            new Reading(SpotId.Parse(spot), Noon.AddMinutes(minute))
            {
                SurfaceCelsius = surfaceCelsius,
                AirCelsius = 29.5,
                HumidityPercent = 40,
                SensorCelsius = 33.1,
                SupplyVolts = 5.02,
                SpreadKelvin = 0.213,
            },
            Boot, TimeSpan.FromMinutes(minute), Dated: true);

    public static TakenReading Held(int minute, string spot = "quarry-steps", string boot = Boot) =>
        Reading(minute, spot) with { Boot = boot, Dated = false };

    public static ReadingOutbox Open(string path, TimeProvider? time = null, OutboxOptions? options = null)
    {
        options ??= new OutboxOptions { KeepFreeMegabytes = 0 };
        options.Path = path;
        return new ReadingOutbox(Options.Create(options), time ?? TimeProvider.System, NullLogger<ReadingOutbox>.Instance);
    }

    public static List<int> Minutes(this ReadingOutbox outbox) =>
        [.. outbox.Peek(int.MaxValue / 2).Select(entry => (int)(entry.Reading.MeasuredAt - Noon).TotalMinutes)];
}
