using System.Globalization;
using System.Net;
using Microsoft.EntityFrameworkCore;
using PavementWatch.Core.Alerts;
using PavementWatch.Core.Readings;
using PavementWatch.Core.Surfaces;
using PavementWatch.Server.Database;
using PavementWatch.Server.Devices;
using PavementWatch.Server.Notifications;
using PavementWatch.Server.Notifications.WebPush;
using PavementWatch.Server.Tests.Api;
using PavementWatch.Server.Tests.Watch;
using PavementWatch.Server.Watch;
using PavementWatch.Tests;
using static PavementWatch.Server.Tests.Api.RunningServer;

namespace PavementWatch.Server.Tests.Notifications;

/// <summary>What waits for a phone about one site is one message.</summary>
public sealed class SiteMessagesTests
{
    private static readonly Spot Bench = new(SpotId.Parse("bench"), "Bench", SurfaceKind.Asphalt, 37.4, -97.0, "America/Chicago") { Site = "North Gate" };
    private static readonly Spot Lane = new(SpotId.Parse("lane"), "North Gate lane", SurfaceKind.Asphalt, 37.4, -97.0, "America/Chicago") { Site = "North Gate" };

    private static CancellationToken Cancel => TestContext.Current.CancellationToken;

    [Fact]
    public async Task Spots_that_change_together_are_one_message_and_one_receipt_each()
    {
        await using var service = await ReceiverHost.StartAsync();
        await using var server = await StartAsync(settings: service.AsAllowed, spots: [NorthGate, Bench, QuarrySteps]);
        using var ines = await WhoIsToldTests.PhoneAsync(server, service, "Ines", NorthGate.Id.Value, Bench.Id.Value, QuarrySteps.Id.Value);

        await TellAsync(server, NorthGate, Bench, QuarrySteps);

        PushMessageBody[] came = [await NextAsync(service), await NextAsync(service)];
        var site = Assert.Single(came, body => body.With is { Count: > 0 });
        Assert.Equal("North Gate: plaza and Bench too hot", site.Title);
        Assert.Equal(
            "Plaza: The ground is at 50 °C (122 °F), the limit is 49 °C (120 °F).\nBench: The ground is at 50 °C (122 °F), the limit is 49 °C (120 °F).",
            site.Body);
        Assert.Equal(("tooHot", "/", "site-North Gate"), (site.State, site.Url, site.Tag));
        Assert.Single(came, body => body.Title == "Quarry Steps too hot");
        await SentAsync(server, 3);
        Assert.True(service.IsQuiet);

        using var worker = server.Browser();
        foreach (var id in site.Told())
        {
            using var answer = await worker.PostAsync(new Uri($"/api/push/receipts/{id}", UriKind.Relative), null, Cancel);
            Assert.Equal(HttpStatusCode.NoContent, answer.StatusCode);
        }

        var rows = await RowsAsync(server);
        Assert.Equal(["bench", "north-gate-plaza"], rows.Where(r => r.ShownAt is not null).Select(r => r.SpotId).Order());
    }

    [Fact]
    public async Task What_waits_to_be_sent_again_goes_with_what_comes_then()
    {
        await using var service = await ReceiverHost.StartAsync();
        await using var server = await StartAsync(settings: service.AsAllowed, spots: [NorthGate, Bench]);
        using var ines = await WhoIsToldTests.PhoneAsync(server, service, "Ines", NorthGate.Id.Value, Bench.Id.Value);
        service.AnswerNextWith(503);
        await TellAsync(server, NorthGate);
        Assert.Equal("North Gate plaza too hot", (await NextAsync(service)).Title);
        await Patience.UntilAsync(async () => (await RowsAsync(server)).Any(r => r.Attempts == 1), () => "the first attempt is not written");

        // Not held back for the other, which would have to wait.
        await TellAsync(server, Bench);

        Assert.Equal("North Gate: plaza and Bench too hot", (await NextAsync(service)).Title);
        await SentAsync(server, 2);
        Assert.True(service.IsQuiet);
    }

    [Fact]
    public async Task A_refusal_is_that_of_every_spot_and_counts_once()
    {
        await using var service = await ReceiverHost.StartAsync();
        await using var server = await StartAsync(settings: service.AsAllowed, spots: [NorthGate, Bench]);
        using var ines = await WhoIsToldTests.PhoneAsync(server, service, "Ines", NorthGate.Id.Value, Bench.Id.Value);
        service.AnswerNextWith(403);

        await TellAsync(server, NorthGate, Bench);

        await Patience.UntilAsync(
            async () => (await RowsAsync(server)).Count(r => r is { Standing: NotificationStanding.Waiting, Attempts: 1 }) == 2, () => "not both are refused");
        await using var db = await server.Get<IDbContextFactory<RegistryDb>>().CreateDbContextAsync(Cancel);
        Assert.Equal(1, (await db.PushSubscriptions.SingleAsync(Cancel)).ForbiddenInARow);
    }

    [Theory]
    [InlineData(true)]
    [InlineData(false)]
    public async Task A_message_that_takes_anothers_place_tells_again_what_stands_there_to_who_was_told(bool followsBoth)
    {
        await using var service = await ReceiverHost.StartAsync();
        await using var server = await StartAsync(settings: service.AsAllowed, spots: [NorthGate, Bench]);
        using var ines = await WhoIsToldTests.PhoneAsync(server, service, "Ines", followsBoth ? [NorthGate.Id.Value, Bench.Id.Value] : [Bench.Id.Value]);
        foreach (var celsius in new[] { 40.0, 50, 51, 52 })
        {
            var at = server.Time.GetUtcNow();
            await server.MeasureAsync(Good(NorthGate, at, celsius), Good(Bench, at, 30));
            await server.SeenAsync(NorthGate, s => s.SurfaceCelsius == celsius);
            await server.SeenAsync(Bench, s => s.MeasuredAt == at);
            await server.MinuteAsync(NorthGate);
        }

        await server.SeenAsync(NorthGate, s => s.State == AlertState.TooHot);
        PushMessageBody? plaza = null;
        while (followsBoth && plaza is not { State: "tooHot" })
            plaza = await NextAsync(service);
        await SentAsync(server, (await RowsAsync(server)).Count);

        await TellAsync(server, Bench);

        var bench = await NextAsync(service);
        Assert.Equal("Bench too hot", bench.Title);
        Assert.Equal(followsBoth, bench.Body.EndsWith("the limit is 49 °C (120 °F). As before: plaza too hot.", StringComparison.Ordinal));
        Assert.Equal(followsBoth ? [plaza!.Id] : [], bench.Again ?? []);
        if (followsBoth)
            Assert.Equal(plaza!.Tag, bench.Tag);
    }

    [Fact]
    public async Task Spots_that_become_hot_in_one_tick_come_together_and_say_where_it_is_comfortable()
    {
        var green = new Spot(SpotId.Parse("green"), "Orchard Green", SurfaceKind.Grass, 37.4, -97.0, "America/Chicago") { Site = "North Gate" };
        await using var service = await ReceiverHost.StartAsync();
        await using var server = await StartAsync(settings: service.AsAllowed, spots: [green, Bench, Lane]);
        using var ines = await WhoIsToldTests.PhoneAsync(server, service, "Ines", Bench.Id.Value, Lane.Id.Value);
        await server.MeasureAsync(WatchTests.HotMorning(green).Select(r => r with { SurfaceCelsius = 30 }));
        await server.SeenAsync(green, s => s.SurfaceCelsius == 30);

        await server.MinuteAsync(Bench);

        var body = await NextAsync(service);
        Assert.Equal("North Gate: Bench and lane may burn in seconds; Orchard Green is comfortable", body.Title);
        Assert.Equal("silent", body.State);
        await SentAsync(server, 2);
    }

    [Theory]
    [InlineData(80, "North Gate place # beside the long wall", "North Gate", 1)]
    [InlineData(200, "North Gate place # beside the long wall", "North Gate", 3)]
    [InlineData(8, "ბილიკი#ქვებითდაძველიკედლითმდინარისპირას", "ჩრდილოკარიდაძველიბაღიმდინარისპირასქვებითჩრდილოკარიდაძველიბაღიმდინარისპირასქვებ", 1)]
    public async Task News_of_a_site_reaches_the_phone_however_much_it_is(int count, string name, string site, int mostMessages)
    {
        List<Spot> spots =
        [
            .. Enumerable.Range(1, count).Select(i => NorthGate with
            {
                Id = SpotId.Parse($"place-{i}"), Name = name.Replace("#", i.ToString("000", CultureInfo.InvariantCulture), StringComparison.Ordinal), Site = site,
            }),
        ];
        await using var service = await ReceiverHost.StartAsync();
        await using var server = await StartAsync(settings: service.AsAllowed, spots: spots);
        using var ines = await WhoIsToldTests.PhoneAsync(server, service, "Ines", [.. spots.Select(s => s.Id.Value)]);

        await TellAsync(server, [.. spots]);
        await SentAsync(server, count);

        List<PushMessageBody> came = [];
        while (!service.IsQuiet)
            came.Add(await NextAsync(service));
        Assert.InRange(came.Count, 1, mostMessages);
        Assert.Equal((await RowsAsync(server)).Select(r => r.Id).Order(), came.SelectMany(body => body.Told()).Distinct().Order());
        Assert.All(came, body => Assert.StartsWith($"{site}: ", body.Title, StringComparison.Ordinal));
        Assert.All(came, body => Assert.EndsWith(" too hot", body.Title, StringComparison.Ordinal));
        Assert.All(came, body => Assert.NotEmpty(body.Body));
    }

    [Fact]
    public void A_message_that_is_too_long_loses_its_end_and_not_its_news()
    {
        var body = new PushMessageBody(
            Guid.NewGuid(), "place-1", "Place 1 too hot", "too hot", string.Concat(Enumerable.Repeat("ბილიკი 🔥 \"hot\"\n", 400)), AlertSide.Heat, "tooHot", Noon, "/", "site-x",
            Again: [.. Enumerable.Range(0, 120).Select(_ => Guid.NewGuid())]);

        var fits = PushMessageBody.Of(body.Fitting().ToJson());

        Assert.InRange(body.Fitting().Bytes(), PushMessageBody.MaxBytes - 40, PushMessageBody.MaxBytes);
        Assert.Equal((body.Id, body.Title, body.What), (fits.Id, fits.Title, fits.What));
        Assert.StartsWith("ბილიკი 🔥", fits.Body, StringComparison.Ordinal);
        Assert.EndsWith("…", fits.Body, StringComparison.Ordinal);
        Assert.DoesNotContain('\uFFFD', fits.Body);
        Assert.Same(fits, fits.Fitting());
    }

    /// <summary>Writes that spots are too hot, all in one transaction.</summary>
    private static async Task TellAsync(RunningServer server, params Spot[] spots)
    {
        var (store, now, batch) = (server.Get<AlertStore>(), server.Time.GetUtcNow(), new AlertBatch());
        List<Task> told = [.. spots.Select(spot => store.RecordAsync(
            spot, AlertMemory.Start(now), new AlertDecision(AlertState.Clear, AlertState.TooHot, AlertReason.ReadingsOverLimit, now, Notify: true, 50) { LimitCelsius = 49 }, batch))];
        batch.Close();
        await store.WriteWaitingAsync();
        await Task.WhenAll(told);
    }

    private static async Task<PushMessageBody> NextAsync(ReceiverHost service) => PushMessageBody.Of((await service.NextAsync()).Text);

    private static Task SentAsync(RunningServer server, int count) => Patience.UntilAsync(
        async () => (await RowsAsync(server)).Count(r => r.Standing == NotificationStanding.Sent) == count, () => "it is not written that all were sent");

    private static async Task<List<NotificationRow>> RowsAsync(RunningServer server)
    {
        await using var db = await server.Get<IDbContextFactory<RegistryDb>>().CreateDbContextAsync(Cancel);
        return await db.Notifications.AsNoTracking().ToListAsync(Cancel);
    }
}
