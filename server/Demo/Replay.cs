using System.Globalization;
using System.Security.Cryptography;
using Microsoft.EntityFrameworkCore;
using Microsoft.Extensions.Options;
using PavementWatch.Core.Offsets;
using PavementWatch.Core.Places;
using PavementWatch.Core.Readings;
using PavementWatch.Core.Surfaces;
using PavementWatch.Core.Weather;
using PavementWatch.Dashboards.Days;
using PavementWatch.Gateway.Buses;
using PavementWatch.Gateway.Clock;
using PavementWatch.Gateway.Outbox;
using PavementWatch.Gateway.Publishing;
using PavementWatch.Gateway.Sampling;
using PavementWatch.Gateway.Sensors;
using PavementWatch.Gateway.Settings;
using PavementWatch.Gateway.Simulation;
using PavementWatch.Gateway.Spots;
using PavementWatch.Server.Broker;
using PavementWatch.Server.Database;
using PavementWatch.Server.Fitting;
using PavementWatch.Server.Gateways;
using PavementWatch.Server.Hosting;
using PavementWatch.Server.Setup;
using PavementWatch.Server.Store;

namespace PavementWatch.Server.Demo;

/// <summary>What a replay found.</summary>
/// <param name="Rows">Rows of the file in the span.</param>
/// <param name="Sent">Readings made of them and put into the gateway's outbox.</param>
/// <param name="Stored">What the store gave back for the span.</param>
/// <param name="Differences">One line for each record that is missing, new or not equal to the file's.</param>
/// <param name="Fit">The fit made on them.</param>
/// <param name="Days">The curve of each local day.</param>
internal sealed record ReplayReport(
    int Rows, int Sent, int Stored, IReadOnlyList<string> Differences, OffsetFit Fit, IReadOnlyList<SpotDay> Days);

/// <summary>Measured readings sent through the real path: gateway outbox, broker, ingest, store, fit, curve; then compared with the file.</summary>
internal static class Replay
{
    private static readonly SpotId SpotId = SpotId.Parse("replayed-spot");
    private static readonly GatewayId GatewayId = GatewayId.Parse("replaying-gateway");

    /// <param name="rows">The measurements, in time order, at least one.</param>
    /// <param name="place">Where they were taken: surface, place and time zone; its name is not used.</param>
    /// <param name="cancellationToken">Ends the replay; nothing is left behind.</param>
    public static async Task<ReplayReport> RunAsync(
        IReadOnlyList<WeatherSample> rows, Spot place, CancellationToken cancellationToken)
    {
        var folder = Directory.CreateTempSubdirectory("pavementwatch-replay-").FullName;
        try
        {
            // The server stands at the end of the span, so that old measurements are today's to it. It runs faster than
            // life, so that the fit on the readings is not made in the second of the one without.
            using var clock = new AcceleratedTimeProvider(rows[^1].At.AddMinutes(1), 60);
            clock.Start();
            await using var server = ServerApp.Build(new ServerAppOptions
            {
                Time = clock,
                DataFolder = folder,
                Url = "http://127.0.0.1:0",
                Settings = new Dictionary<string, string?>
                {
                    ["Broker:Port"] = "0",
                    ["Logging:LogLevel:Default"] = "Warning",
                    ["Logging:LogLevel:Microsoft.Hosting.Lifetime"] = "Warning",
                },
            });
            var spot = place with { Id = SpotId, Name = "Replayed spot", Site = "Replay" };
            var secret = RandomNumberGenerator.GetHexString(32);
            await RegisterAsync(server.Services, spot, secret, cancellationToken);
            await server.StartAsync(cancellationToken);

            Reading[] sent = [.. rows.Select(ReadingOf)];
            using (var gateway = Gateway(folder, server.Services.GetRequiredService<IBroker>().Port, secret, clock, spot))
            {
                var outbox = gateway.Services.GetRequiredService<ReadingOutbox>();
                outbox.Append([.. sent.Select(reading => new TakenReading(reading, "replay", TimeSpan.Zero, Dated: true))]);
                await gateway.StartAsync(cancellationToken);
                while (outbox.State().Waiting > 0)
                    await Task.Delay(TimeSpan.FromMilliseconds(20), TimeProvider.System, cancellationToken);
                await gateway.StopAsync(cancellationToken);
            }

            var report = await CompareAsync(server.Services, rows.Count, sent, spot, cancellationToken);
            await server.StopAsync(cancellationToken);
            return report;
        }
        finally
        {
            Directory.Delete(folder, recursive: true);
        }
    }

    private static async Task RegisterAsync(
        IServiceProvider services, Spot spot, string secret, CancellationToken cancellationToken)
    {
        var registry = services.GetRequiredService<IDbContextFactory<RegistryDb>>();
        await using (var db = await registry.CreateDbContextAsync(cancellationToken))
            await db.Database.MigrateAsync(cancellationToken);
        await services.GetRequiredService<SpotStore>().AddSpotAsync(spot, cancellationToken);
        await services.GetRequiredService<GatewayStore>().SetGatewayAsync(GatewayId, secret, [SpotId], cancellationToken);
    }

    private static Reading ReadingOf(WeatherSample row) => new(SpotId, row.At)
    {
        SurfaceCelsius = row.SurfaceCelsius,
        AirCelsius = row.AirCelsius,
        HumidityPercent = row.HumidityPercent,
    };

    /// <summary>The gateway from its outbox on; nothing samples.</summary>
    private static IHost Gateway(string folder, int brokerPort, string secret, TimeProvider clock, Spot spot)
    {
        var builder = Host.CreateEmptyApplicationBuilder(new HostApplicationBuilderSettings { DisableDefaults = true });
        builder.Configuration.AddInMemoryCollection(new Dictionary<string, string?>
        {
            ["Gateway:Id"] = GatewayId.Value,
            ["Clock:Trust"] = "System",
            ["Outbox:Path"] = Path.Combine(folder, "outbox.sqlite"),
            ["Publishing:BrokerHost"] = "127.0.0.1",
            ["Publishing:BrokerPort"] = brokerPort.ToString(CultureInfo.InvariantCulture),
            ["Publishing:Tls"] = "false",
            ["Publishing:Password"] = secret,
            [$"Spots:{SpotId}:Surface"] = SurfaceKinds.Slug(spot.Surface),
            ["Probes:ground:Kind"] = "Mlx90614",
            ["Probes:ground:Spot"] = SpotId.Value,
        });
        builder.Services.AddSingleton(clock);
        builder.Services.AddSingleton<IBuses>(provider => SimulatedBuses.For(
            provider.GetRequiredService<IOptions<ProbeTable>>().Value,
            provider.GetRequiredService<IOptions<SpotTable>>().Value,
            new SimulatedWorld((_, _) => default, clock)));
        builder.Services.AddClock();
        builder.Services.AddOutbox();
        builder.Services.AddSampling();
        builder.Services.AddServerSettings();
        builder.Services.AddPublishing();
        return builder.Build();
    }

    private static async Task<ReplayReport> CompareAsync(
        IServiceProvider services, int rows, Reading[] sent, Spot spot, CancellationToken cancellationToken)
    {
        var store = services.GetRequiredService<IReadingStore>();
        var stored = await store.RangeAsync(
            SpotId, sent[0].MeasuredAt, sent[^1].MeasuredAt.AddTicks(1), cancellationToken);
        var results = await services.GetRequiredService<FitRunner>().RunAsync(spot, null, cancellationToken);

        var zone = TimeZoneInfo.FindSystemTimeZoneById(spot.TimeZoneId);
        var days = new List<SpotDay>();
        for (var day = LocalDay.Of(zone, sent[0].MeasuredAt); day <= LocalDay.Of(zone, sent[^1].MeasuredAt); day = day.AddDays(1))
        {
            if (await services.GetRequiredService<ISpotDays>().DayAsync(SpotId, day, cancellationToken) is { } curve)
                days.Add(curve);
        }

        return new ReplayReport(
            rows, sent.Length, stored.Count, [.. Differences(sent, [.. stored.Select(s => s.Reading)])], results[0].Fit, days);
    }

    private static IEnumerable<string> Differences(Reading[] sent, Reading[] stored)
    {
        var byTime = stored.ToDictionary(reading => reading.MeasuredAt);
        foreach (var reading in sent)
        {
            if (!byTime.Remove(reading.MeasuredAt, out var back))
                yield return $"{reading.MeasuredAt:u} is not in the store";
            else if (back != reading)
                yield return $"{reading.MeasuredAt:u} came back as {back}";
        }

        foreach (var left in byTime.Keys.Order())
            yield return $"{left:u} is in the store and not in the file";
    }
}
