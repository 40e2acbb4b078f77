using System.Net;
using System.Net.Http.Json;
using Microsoft.Data.Sqlite;
using Microsoft.EntityFrameworkCore;
using MQTTnet;
using PavementWatch.Core.Alerts;
using PavementWatch.Core.Readings;
using PavementWatch.Core.Wire;
using PavementWatch.Server.Broker;
using PavementWatch.Server.Database;
using PavementWatch.Server.Faults;
using PavementWatch.Server.Gateways;
using PavementWatch.Server.Notifications;
using PavementWatch.Server.Notifications.WebPush;
using PavementWatch.Server.Store;
using PavementWatch.Server.Tests.Api;
using PavementWatch.Server.Tests.Broker;
using PavementWatch.Server.Tests.Notifications;
using PavementWatch.Server.Watch;
using PavementWatch.Tests;
using static PavementWatch.Server.Tests.Api.RunningServer;

namespace PavementWatch.Server.Tests.Store;

/// <summary>A server whose disk is full or whose file is damaged: nothing acknowledged is lost, warnings go out, and it says what is wrong.</summary>
public sealed class BadDiskTests
{
    private static readonly GatewayId Gateway = GatewayId.Parse("north-gate");

    private static readonly Dictionary<string, string?> Settings = new()
    {
        ["Data:ProbeEvery"] = "00:00:01",
        // It names each refusal of the disk; what our own parts say of it counts here.
        ["Logging:LogLevel:Microsoft.EntityFrameworkCore"] = "None",
    };

    private static CancellationToken Cancel => TestContext.Current.CancellationToken;

    [Fact]
    public async Task On_a_full_disk_readings_wait_at_the_gateway_while_warnings_go_out()
    {
        using var disk = SmallDisk.Require(Directory.CreateTempSubdirectory("pw-full-").FullName, kilobytes: 16_384);
        await using var service = await ReceiverHost.StartAsync();
        await using var server = await StartAsync(Path.Combine(disk.Folder, "data"), settings: new Dictionary<string, string?>(Settings.Concat(service.AsAllowed)));
        // Whoever writes says what it cannot, and that it goes on. No step of the watch fails, and no warning.
        server.ExpectedErrors =
        [
            "sent back to try again", "the registry does not take a change of", "could not be brought up to date",
            "retained messages could not be kept", "Health check", "nightly fit failed", "faults: a look at them failed",
            "notifications: a round of sending failed", "unseen warnings: a look at them failed", "business: a round of sending",
        ];
        using var phone = await PhoneAsync(server, service);
        using var business = await server.BrowserOfAsync(Role.Business);
        using var gateway = await ConnectAsync(server, [NorthGate.Id]);
        var readings = new List<Reading> { Good(NorthGate, Noon, 40) };
        Assert.Equal(MqttClientPublishReasonCode.Success, (await SendAsync(gateway, readings)).ReasonCode);
        await server.SeenAsync(NorthGate, s => s.State == AlertState.Clear);

        var faults = server.Get<ServiceFaults>();
        await Patience.UntilAsync(
            () =>
            {
                // Again each time: a probe under way would give its room back after the first.
                disk.Fill();
                return faults.Standing.Any(f => f.Key == StoreCondition.Full);
            },
            () => $"a full disk is not noticed: {string.Join("; ", faults.Standing)}");
        disk.Fill();
        Assert.Contains("is full", await HealthAsync(business, HttpStatusCode.ServiceUnavailable), StringComparison.Ordinal);

        for (var i = 0; i < 3; i++)
        {
            server.Time.Advance(TimeSpan.FromMinutes(1));
            readings = [Good(NorthGate, server.Time.GetUtcNow(), 60 + i)];
            var refused = await SendAsync(gateway, readings);
            Assert.Equal(MqttClientPublishReasonCode.UnspecifiedError, refused.ReasonCode);
            await server.SeenAsync(NorthGate, s => s.SurfaceCelsius == 60 + i);
        }

        await server.SeenAsync(NorthGate, s => s.State == AlertState.TooHot);
        PushMessageBody told;
        do
            told = PushMessageBody.Of((await service.NextAsync()).Text);
        while (told.State != "tooHot");
        Assert.Contains(faults.Standing, f => f.Key == UnwrittenAlerts.Fault);

        disk.Free();
        for (var i = 0; i < 3; i++)
            Assert.Equal(MqttClientPublishReasonCode.Success, (await SendAsync(gateway, [Good(NorthGate, Noon.AddMinutes(i + 1), 60 + i)])).ReasonCode);
        await Patience.UntilAsync(
            () =>
            {
                server.Time.Advance(TimeSpan.FromMinutes(1));
                return faults.Standing.Count == 0;
            },
            () => $"faults of a disk that has room again: {string.Join("; ", faults.Standing)}");

        await using var db = await server.Get<IDbContextFactory<RegistryDb>>().CreateDbContextAsync(Cancel);
        var change = await db.AlertEvents.SingleAsync(e => e.To == AlertState.TooHot, Cancel);
        Assert.Equal(NotificationStanding.Sent, (await db.Notifications.SingleAsync(n => n.EventId == change.Id, Cancel)).Standing);
        var stored = await server.Get<IReadingStore>().RangeAsync(NorthGate.Id, Noon, Noon.AddHours(1), Cancel);
        Assert.Equal([40, 60, 61, 62], stored.Select(s => s.Reading.SurfaceCelsius!.Value));
    }

    [Fact]
    public async Task What_is_stored_is_read_on_a_full_disk_also_after_a_kill()
    {
        using var disk = SmallDisk.Require(Directory.CreateTempSubdirectory("pw-full-").FullName, kilobytes: 16_384);
        var file = Path.Combine(disk.Folder, "readings.sqlite");
        await using var running = new SqliteReadingStore(new StoreOptions { Path = file });
        await running.AppendAsync([new StoredReading(Good(NorthGate, Noon, 60), Noon)], Cancel);
        disk.Fill();

        await using var next = new SqliteReadingStore(new StoreOptions { Path = file });

        Assert.Equal(60, Assert.Single(await next.RangeAsync(NorthGate.Id, Noon, Noon.AddHours(1), Cancel)).Reading.SurfaceCelsius);
    }

    [Fact]
    public async Task A_damaged_file_stops_neither_gateway_nor_warnings_and_what_it_does_not_take_is_stored_after_a_restore()
    {
        var folder = Directory.CreateTempSubdirectory("pw-damaged-").FullName;
        var file = Path.Combine(folder, "readings.sqlite");
        await using (var before = await StartAsync(folder))
        {
            foreach (var spot in new[] { NorthGate, QuarrySteps })
            {
                await before.Get<IReadingStore>().AppendAsync(
                    [.. Enumerable.Range(1, 3000).Select(i => new StoredReading(Good(spot, Noon.AddMinutes(-3 * i), 40), Noon))], Cancel);
            }
        }

        SqliteConnection.ClearAllPools();
        File.Copy(file, file + ".good");
        Assert.True(Damage.PagesWith(file, NorthGate.Id.Value) > 10, "too few pages are damaged");

        var reading = Good(NorthGate, Noon, 61);
        var other = Good(QuarrySteps, Noon, 41);
        await using (var server = await StartAsync(folder, settings: Settings, spots: []))
        {
            server.ExpectedErrors = ["sent back to try again", "nightly fit failed", "Health check", "begins without its last days", "is set aside as"];
            using var gateway = await ConnectAsync(server, [NorthGate.Id, QuarrySteps.Id]);
            Assert.Equal(MqttClientPublishReasonCode.UnspecifiedError, (await SendAsync(gateway, [reading, other])).ReasonCode);
            Assert.Equal(61, (await server.SeenAsync(NorthGate, s => s.SurfaceCelsius == 61)).SurfaceCelsius);
            Assert.Equal(MqttClientPublishReasonCode.UnspecifiedError, (await SendAsync(gateway, [reading, other])).ReasonCode);
            var last = await SendAsync(gateway, [reading, other]);
            Assert.Equal(MqttClientPublishReasonCode.Success, last.ReasonCode);
            Assert.Contains("set aside", last.ReasonString, StringComparison.Ordinal);
            Assert.Equal(other.MeasuredAt, Assert.Single(await server.Get<IReadingStore>().RangeAsync(
                QuarrySteps.Id, Noon, Noon.AddMinutes(1), Cancel)).Reading.MeasuredAt);

            // What another clock dated stays at the gateway, damage or not.
            var ahead = new[] { Good(NorthGate, Noon.AddMinutes(1), 62), Good(NorthGate, Noon.AddHours(1), 63) };
            for (var i = 0; i < 2; i++)
                Assert.Equal(MqttClientPublishReasonCode.UnspecifiedError, (await SendAsync(gateway, ahead)).ReasonCode);
            Assert.Equal(MqttClientPublishReasonCode.ImplementationSpecificError, (await SendAsync(gateway, ahead)).ReasonCode);
            Assert.Single(Directory.GetFiles(Path.Combine(folder, "packs-aside")));

            using var business = await server.BrowserOfAsync(Role.Business);
            var health = await HealthAsync(business, HttpStatusCode.ServiceUnavailable);
            Assert.Contains("restore FROM", health, StringComparison.Ordinal);
            Assert.Contains("packs-aside", health, StringComparison.Ordinal);

            // Damage stands where one spot's readings stand; another's page has nothing to do with it.
            using var hurt = await AskAsync(business, "/business/spots/north-gate-plaza", "text/html");
            Assert.Equal(HttpStatusCode.ServiceUnavailable, hurt.StatusCode);
            using var sound = await AskAsync(business, "/business/spots/quarry-steps", "text/html");
            Assert.Equal(HttpStatusCode.OK, sound.StatusCode);
            Assert.Contains("41.0", await sound.Content.ReadAsStringAsync(Cancel), StringComparison.Ordinal);

            using var walker = await server.BrowserOfAsync(Role.Walker);
            using var page = await AskAsync(walker, "/spots/north-gate-plaza", "text/html");
            Assert.Equal((HttpStatusCode.ServiceUnavailable, "text/html"), (page.StatusCode, page.Content.Headers.ContentType!.MediaType));
            Assert.Contains("feel the ground", await page.Content.ReadAsStringAsync(Cancel), StringComparison.Ordinal);
            using var day = await AskAsync(walker, "/api/spots/north-gate-plaza/day", "application/json");
            Assert.Equal((HttpStatusCode.ServiceUnavailable, "application/problem+json"), (day.StatusCode, day.Content.Headers.ContentType!.MediaType));
        }

        SqliteConnection.ClearAllPools();
        DatabaseCopy.Remove(file);
        File.Move(file + ".good", file);
        await using (var after = await StartAsync(folder, settings: Settings, spots: []))
        {
            var aside = Path.Combine(folder, "packs-aside");
            await Patience.UntilAsync(() => Directory.GetFiles(aside).Length == 0, () => "the pack that was set aside is not stored");
            Assert.Equal(61, Assert.Single(await after.Get<IReadingStore>().RangeAsync(
                NorthGate.Id, Noon, Noon.AddMinutes(1), Cancel)).Reading.SurfaceCelsius);
            Assert.Empty(after.Get<ServiceFaults>().Standing);
        }

        Directory.Delete(folder, recursive: true);
    }

    private static async Task<HttpResponseMessage> AskAsync(HttpClient browser, string path, string accept)
    {
        using var request = new HttpRequestMessage(HttpMethod.Get, new Uri(path, UriKind.Relative));
        request.Headers.Add("Accept", accept);
        return await browser.SendAsync(request, Cancel);
    }

    private static async Task<string> HealthAsync(HttpClient business, HttpStatusCode status)
    {
        using var answer = await business.GetAsync(new Uri("/health/ready", UriKind.Relative), Cancel);
        Assert.Equal(status, answer.StatusCode);
        return await answer.Content.ReadAsStringAsync(Cancel);
    }

    private static async Task<HttpClient> PhoneAsync(RunningServer server, ReceiverHost service)
    {
        var browser = await server.BrowserOfAsync(Role.Walker, "Ines");
        var (p256dh, auth) = service.Receiver.Add("phone");
        using var answer = await browser.PostAsJsonAsync(
            new Uri("/api/push/subscriptions", UriKind.Relative),
            new { endpoint = service.Endpoint("phone"), keys = new { p256dh, auth }, spots = new[] { NorthGate.Id.Value } },
            Cancel);
        Assert.Equal(HttpStatusCode.Created, answer.StatusCode);
        // As every phone does that asks for alerts: the server's key is made then.
        _ = await server.Get<VapidKeys>().GetAsync(Cancel);
        return browser;
    }

    private static async Task<IMqttClient> ConnectAsync(RunningServer server, IReadOnlyList<SpotId> spots)
    {
        var secret = TestDirectory.PasswordOf(Gateway.Value);
        await server.Get<GatewayStore>().SetGatewayAsync(Gateway, secret, spots, Cancel);
        await server.Get<GatewayCatalogue>().RefreshAsync(Cancel);
        var client = new MqttClientFactory().CreateMqttClient();
        var answer = await client.ConnectAsync(BrokerHost.OptionsFor(Gateway, server.Get<IBroker>().Port).Build(), Cancel);
        Assert.Equal(MqttClientConnectResultCode.Success, answer.ResultCode);
        return client;
    }

    private static Task<MqttClientPublishResult> SendAsync(IMqttClient gateway, IReadOnlyList<Reading> readings) =>
        BrokerHost.SendAsync(gateway, Gateway, ReadingPack.Write(readings));
}
