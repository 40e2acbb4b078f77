using PavementWatch.Core.Alerts;
using PavementWatch.Core.Readings;
using PavementWatch.Core.Wire;
using PavementWatch.Server.Gateways;
using PavementWatch.Server.Ingest;
using PavementWatch.Server.Store;
using PavementWatch.Server.Tests.Api;
using PavementWatch.Server.Tests.Plausibility;
using PavementWatch.Tests;
using static PavementWatch.Server.Tests.Api.RunningServer;

namespace PavementWatch.Server.Tests.Ingest;

/// <summary>A store that hangs, or fails as nobody expects: heat is told all the same, and once.</summary>
public sealed class HangingAppendTests
{
    private static readonly GatewayId Gate = GatewayId.Parse("north-gate");

    private static CancellationToken Cancel => TestContext.Current.CancellationToken;

    [Fact]
    public async Task Heat_is_told_and_shown_while_the_store_hangs_and_stored_and_told_once()
    {
        var (server, store) = await StartAsync();
        await using var running = server;
        using var patience = Patience.Token();
        await using var told = server.Get<ReadingFeed>().ReadAllAsync(patience.Token).GetAsyncEnumerator(patience.Token);
        store.HangAppends();
        List<Task<IngestOutcome>> sent = [];
        for (var i = 1; i <= 2; i++)
        {
            sent.Add(SendAsync(server, NorthGate.Id, i, 60 + i));
            await server.SeenAsync(NorthGate, s => s.SurfaceCelsius == 60 + i);
            await server.MinuteAsync(NorthGate);
        }

        await server.SeenAsync(NorthGate, s => s.State == AlertState.TooHot);
        Assert.All(sent, one => Assert.False(one.IsCompleted));

        store.LetGo();
        Assert.All(await Task.WhenAll(sent), one => Assert.Equal(1, Assert.IsType<IngestOutcome.Accepted>(one).StoredCount));
        Assert.Equal([61, 62], (await server.Get<IReadingStore>().RangeAsync(NorthGate.Id, Noon, Noon.AddHours(1), Cancel)).Select(s => s.Reading.SurfaceCelsius));
        await SendAsync(server, QuarrySteps.Id, 3, 21);
        Assert.Equal([61, 62, 21], await UntilAsync(told, 21));
    }

    [Fact]
    public async Task Heat_is_told_where_the_store_fails_as_nobody_expects_and_once_when_it_is_sent_again()
    {
        var (server, store) = await StartAsync();
        await using var running = server;
        using var patience = Patience.Token();
        await using var told = server.Get<ReadingFeed>().ReadAllAsync(patience.Token).GetAsyncEnumerator(patience.Token);
        store.Failure = new InvalidOperationException("made to fail");
        await Assert.ThrowsAsync<InvalidOperationException>(() => SendAsync(server, NorthGate.Id, 1, 60));
        await server.SeenAsync(NorthGate, s => s.SurfaceCelsius == 60);

        store.Failure = null;
        Assert.Equal(1, Assert.IsType<IngestOutcome.Accepted>(await SendAsync(server, NorthGate.Id, 1, 60)).StoredCount);
        await SendAsync(server, QuarrySteps.Id, 2, 21);
        Assert.Equal([60, 21], await UntilAsync(told, 21));
    }

    private static async Task<(RunningServer Server, HangingStore Store)> StartAsync()
    {
        HangingStore? store = null;
        var server = await RunningServer.StartAsync(services: services => HangingStore.In(services, made => store = made));
        await server.Get<GatewayStore>().SetGatewayAsync(Gate, "secret", [NorthGate.Id, QuarrySteps.Id], Cancel);
        await server.MinuteAsync(NorthGate);
        return (server, store!);
    }

    private static Task<IngestOutcome> SendAsync(RunningServer server, SpotId spot, long number, double celsius) => server.Get<IngestPipeline>().AcceptAsync(
        Gate,
        ReadingPack.Write([new Reading(spot, server.Time.GetUtcNow()) { SurfaceCelsius = celsius, AirCelsius = 35 }]),
        new PackOrigin(new PackNumber("boot", number), TimeSpan.Zero, false));

    private static async Task<List<double?>> UntilAsync(IAsyncEnumerator<HeardReading> told, double mark)
    {
        List<double?> heard = [];
        while (heard.LastOrDefault() != mark && await told.MoveNextAsync())
            heard.Add(told.Current.Reading.SurfaceCelsius);
        return heard;
    }
}
