using System.Net;
using System.Net.Http.Json;
using System.Text;
using System.Text.Json;
using Microsoft.EntityFrameworkCore;
using Microsoft.Extensions.Options;
using PavementWatch.Server.Database;
using PavementWatch.Server.Devices;
using PavementWatch.Server.Notifications;
using PavementWatch.Server.Notifications.WebPush;
using PavementWatch.Server.Tests.Api;

namespace PavementWatch.Server.Tests.Notifications;

public sealed class SubscriptionsTests
{
    // RFC 8291, Appendix A: the user agent's public key and authentication secret.
    private const string PublicKey = "BCVxsr7N_eNgVRqvHtD0zTZsEc6-VV-JvLexhqUzORcxaOzi6-AYWXvTBHm4bjyPjs7Vd8pZGH6SRpkNtoIAiw4";
    private const string Auth = "BTBZMqHH6r4Tts7J_aSIgg";

    private static CancellationToken Cancel => TestContext.Current.CancellationToken;

    [Theory]
    [InlineData("https://fcm.googleapis.com/fcm/send/x", true)]
    [InlineData("https://web.push.apple.com/x", true)]
    [InlineData("https://push.apple.com/x", false)]
    [InlineData("https://evilpush.apple.com.example/x", false)]
    [InlineData("https://xfcm.googleapis.com/x", false)]
    [InlineData("http://fcm.googleapis.com/x", false)]
    [InlineData("https://fcm.googleapis.com:8443/x", false)]
    [InlineData("https://user@fcm.googleapis.com/x", false)]
    [InlineData("https://127.0.0.1/x", false)]
    [InlineData("http://localhost:8086/write", false)]
    [InlineData("https://own.push.example/x", true)]
    [InlineData("file:///etc/passwd", false)]
    [InlineData("", false)]
    public void Only_push_services_are_sent_to(string endpoint, bool allowed)
    {
        var hosts = new PushHosts(Options.Create(new NotificationOptions { AllowedHosts = ["own.push.example"] }));

        Assert.Equal(allowed, hosts.Refusal(endpoint) is null);
    }

    [Theory]
    [InlineData("https://elsewhere.example/x", PublicKey, Auth, "north-gate-plaza", "endpoint")]
    [InlineData("https://fcm.googleapis.com/x", "BCVx", Auth, "north-gate-plaza", "keys.p256dh")]
    [InlineData("https://fcm.googleapis.com/x", "BAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAA", Auth, "north-gate-plaza", "keys.p256dh")]
    [InlineData("https://fcm.googleapis.com/x", PublicKey, "BTBZ", "north-gate-plaza", "keys.auth")]
    [InlineData("https://fcm.googleapis.com/x", PublicKey, Auth, "nowhere", "spots")]
    public async Task A_subscription_that_cannot_work_is_refused_by_its_field(
        string endpoint, string p256dh, string auth, string spot, string field)
    {
        await using var server = await RunningServer.StartAsync();
        using var browser = await server.BrowserOfAsync(Role.Walker);

        using var answer = await PostAsync(browser, endpoint, p256dh, auth, spot);

        Assert.Equal(HttpStatusCode.BadRequest, answer.StatusCode);
        using var problem = JsonDocument.Parse(await answer.Content.ReadAsStringAsync(Cancel));
        Assert.Equal([field], problem.RootElement.GetProperty("errors").EnumerateObject().Select(e => e.Name));
    }

    [Theory]
    [InlineData("{", "application/json", HttpStatusCode.BadRequest)]
    [InlineData("{}", "application/json", HttpStatusCode.BadRequest)]
    [InlineData("""{"endpoint":5}""", "application/json", HttpStatusCode.BadRequest)]
    [InlineData("endpoint=x", "application/x-www-form-urlencoded", HttpStatusCode.UnsupportedMediaType)]
    public async Task A_request_that_is_no_subscription_gets_a_problem(string body, string type, HttpStatusCode status)
    {
        await using var server = await RunningServer.StartAsync();
        using var browser = await server.BrowserOfAsync(Role.Walker);
        using var content = new StringContent(body, Encoding.UTF8, type);

        using var answer = await browser.PostAsync(new Uri("/api/push/subscriptions", UriKind.Relative), content, Cancel);

        Assert.Equal(status, answer.StatusCode);
        Assert.Equal("application/problem+json", answer.Content.Headers.ContentType?.MediaType);
    }

    [Fact]
    public async Task A_request_of_a_megabyte_is_refused()
    {
        await using var server = await RunningServer.StartAsync();
        using var browser = await server.BrowserOfAsync(Role.Walker);

        using var answer = await PostAsync(browser, new string('x', 1_000_000), PublicKey, Auth, "north-gate-plaza");

        Assert.Equal(HttpStatusCode.RequestEntityTooLarge, answer.StatusCode);
    }

    [Fact]
    public async Task A_device_the_server_does_not_know_any_more_follows_what_its_browser_has_kept_and_is_told_so()
    {
        await using var server = await RunningServer.StartAsync();
        using var ines = await server.BrowserOfAsync(Role.Walker, "Ines");
        const string Before = "https://fcm.googleapis.com/fcm/send/one";
        const string After = "https://fcm.googleapis.com/fcm/send/two";

        // Known to nobody: after a sign-out everywhere, a restored backup, an address its push service gave up.
        Assert.Equal(["north-gate-plaza"], await FollowedAsync(ines, new { endpoint = Before, keys = Keys, kept = (string[])["north-gate-plaza", "long-gone"] }));
        // Known: what the server has counts.
        Assert.Equal(["north-gate-plaza"], await FollowedAsync(ines, new { endpoint = Before, keys = Keys, kept = (string[])["quarry-steps"] }));
        Assert.Equal([], await FollowedAsync(ines, new { endpoint = Before, keys = Keys, spots = (string[])[] }));
        Assert.Equal(["quarry-steps"], await FollowedAsync(ines, new { endpoint = Before, keys = Keys, spots = (string[])["quarry-steps"] }));
        // Its push service gave it another address.
        Assert.Equal(["quarry-steps"], await FollowedAsync(ines, new { endpoint = After, keys = Keys, replaces = Before }));

        await using var db = await server.Get<IDbContextFactory<RegistryDb>>().CreateDbContextAsync(Cancel);
        Assert.Equal([After], await db.PushSubscriptions.Select(s => s.Endpoint).ToListAsync(Cancel));
    }

    [Fact]
    public async Task An_address_that_a_browser_showed_by_itself_follows_what_its_phone_remembers_of_the_one_before()
    {
        await using var server = await RunningServer.StartAsync();
        using var ines = await server.BrowserOfAsync(Role.Walker, "Ines");
        const string Before = "https://fcm.googleapis.com/fcm/send/one";
        const string After = "https://fcm.googleapis.com/fcm/send/two";
        await FollowedAsync(ines, new { endpoint = Before, keys = Keys, spots = (string[])["quarry-steps"] });
        // Its service worker knew of no address before.
        Assert.Equal([], await FollowedAsync(ines, new { endpoint = After, keys = Keys }));

        var followed = await FollowedAsync(ines, new { endpoint = After, keys = Keys, kept = (string[])["north-gate-plaza"], replaces = Before });

        Assert.Equal(["north-gate-plaza", "quarry-steps"], followed.Order());
        await using var db = await server.Get<IDbContextFactory<RegistryDb>>().CreateDbContextAsync(Cancel);
        Assert.Equal([After], await db.PushSubscriptions.Select(s => s.Endpoint).ToListAsync(Cancel));
    }

    [Fact]
    public async Task An_address_that_is_gone_is_taken_again_with_the_word_to_ask_for_another()
    {
        await using var server = await RunningServer.StartAsync();
        using var ines = await server.BrowserOfAsync(Role.Walker, "Ines");
        const string Endpoint = "https://fcm.googleapis.com/fcm/send/one";
        await FollowedAsync(ines, new { endpoint = Endpoint, keys = Keys, spots = (string[])["quarry-steps"] });
        await GoneAsync();

        using var answer = await ines.PostAsJsonAsync(new Uri("/api/push/subscriptions", UriKind.Relative), new { endpoint = Endpoint, keys = Keys }, Cancel);
        Assert.Equal("""{"spots":["quarry-steps"],"renew":true}""", await answer.Content.ReadAsStringAsync(Cancel));
        using var again = await ines.PostAsJsonAsync(new Uri("/api/push/subscriptions", UriKind.Relative), new { endpoint = Endpoint, keys = Keys }, Cancel);
        Assert.Equal("""{"spots":["quarry-steps"],"renew":false}""", await again.Content.ReadAsStringAsync(Cancel));

        // One that is not used any more is forgotten, and those in use are not.
        await FollowedAsync(ines, new { endpoint = Endpoint + "-other", keys = Keys });
        await GoneAsync();
        using var forgotten = await ines.DeleteAsync(new Uri("/api/push/gone", UriKind.Relative), Cancel);
        Assert.Equal(HttpStatusCode.NoContent, forgotten.StatusCode);
        await using var left = await server.Get<IDbContextFactory<RegistryDb>>().CreateDbContextAsync(Cancel);
        Assert.Equal([Endpoint + "-other"], await left.PushSubscriptions.Select(s => s.Endpoint).ToListAsync(Cancel));

        async Task GoneAsync()
        {
            await using var db = await server.Get<IDbContextFactory<RegistryDb>>().CreateDbContextAsync(Cancel);
            await db.PushSubscriptions.Where(s => s.Endpoint == Endpoint).ExecuteUpdateAsync(set => set.SetProperty(s => s.GoneAt, RunningServer.Noon), Cancel);
        }
    }

    [Fact]
    public async Task A_device_takes_the_place_of_nobody_elses()
    {
        await using var server = await RunningServer.StartAsync();
        using var ines = await server.BrowserOfAsync(Role.Walker, "Ines");
        using var tobias = await server.BrowserOfAsync(Role.Walker, "Tobias");
        const string Ines = "https://fcm.googleapis.com/fcm/send/ines";
        await FollowedAsync(ines, new { endpoint = Ines, keys = Keys, spots = (string[])["quarry-steps"] });

        Assert.Equal([], await FollowedAsync(tobias, new { endpoint = "https://fcm.googleapis.com/fcm/send/tobias", keys = Keys, replaces = Ines }));
        Assert.Equal(["quarry-steps"], await FollowedAsync(ines, new { endpoint = Ines, keys = Keys }));
    }

    private static readonly object Keys = new { p256dh = PublicKey, auth = Auth };

    private static async Task<IReadOnlyList<string>> FollowedAsync(HttpClient browser, object request)
    {
        using var answer = await browser.PostAsJsonAsync(new Uri("/api/push/subscriptions", UriKind.Relative), request, Cancel);
        Assert.Equal(HttpStatusCode.Created, answer.StatusCode);
        using var json = JsonDocument.Parse(await answer.Content.ReadAsStringAsync(Cancel));
        return [.. json.RootElement.GetProperty("spots").EnumerateArray().Select(s => s.GetString()!)];
    }

    [Fact]
    public async Task A_phone_that_changes_hands_serves_the_new_person_only_and_can_be_forgotten_by_them_only()
    {
        await using var server = await RunningServer.StartAsync();
        using var ines = await server.BrowserOfAsync(Role.Walker, "Ines");
        using var tobias = await server.BrowserOfAsync(Role.Walker, "Tobias");
        const string Endpoint = "https://fcm.googleapis.com/fcm/send/one";
        using var first = await PostAsync(ines, Endpoint, PublicKey, Auth, "north-gate-plaza");
        using var second = await PostAsync(tobias, Endpoint, PublicKey, Auth, "quarry-steps");

        Assert.Equal(HttpStatusCode.NotFound, await ForgetAsync(ines));
        await using (var db = await server.Get<IDbContextFactory<RegistryDb>>().CreateDbContextAsync(Cancel))
        {
            var device = await db.PushSubscriptions.SingleAsync(Cancel);
            Assert.Equal("Tobias", (await db.People.SingleAsync(p => p.Id == device.PersonId, Cancel)).Name);
        }

        Assert.Equal(HttpStatusCode.NoContent, await ForgetAsync(tobias));

        static async Task<HttpStatusCode> ForgetAsync(HttpClient browser)
        {
            using var request = new HttpRequestMessage(HttpMethod.Delete, "/api/push/subscriptions")
            {
                Content = JsonContent.Create(new { endpoint = Endpoint }),
            };
            using var answer = await browser.SendAsync(request, Cancel);
            return answer.StatusCode;
        }
    }

    [Fact]
    public async Task A_device_of_somebody_else_does_not_move_without_the_secret_it_was_registered_with()
    {
        await using var server = await RunningServer.StartAsync();
        using var ines = await server.BrowserOfAsync(Role.Walker, "Ines");
        using var tobias = await server.BrowserOfAsync(Role.Walker, "Tobias");
        const string Endpoint = "https://fcm.googleapis.com/fcm/send/one";
        using var first = await PostAsync(ines, Endpoint, PublicKey, Auth, "north-gate-plaza");

        using var second = await PostAsync(tobias, Endpoint, PublicKey, "AAAAAAAAAAAAAAAAAAAAAA", "quarry-steps");

        Assert.Equal(HttpStatusCode.BadRequest, second.StatusCode);
        Assert.Contains("registered to somebody else", await second.Content.ReadAsStringAsync(Cancel), StringComparison.Ordinal);
        Assert.Equal(["north-gate-plaza"], await FollowedAsync(server));
        await using var db = await server.Get<IDbContextFactory<RegistryDb>>().CreateDbContextAsync(Cancel);
        var device = await db.PushSubscriptions.SingleAsync(Cancel);
        Assert.Equal(("Ines", Auth), ((await db.People.SingleAsync(p => p.Id == device.PersonId, Cancel)).Name, device.Auth));
    }

    [Fact]
    public async Task Following_is_replaced_by_the_spots_given_and_left_alone_without_any()
    {
        await using var server = await RunningServer.StartAsync();
        using var ines = await server.BrowserOfAsync(Role.Walker, "Ines");
        const string Endpoint = "https://fcm.googleapis.com/fcm/send/one";

        using var first = await PostAsync(ines, Endpoint, PublicKey, Auth, "north-gate-plaza");
        Assert.Equal(["north-gate-plaza"], await FollowedAsync(server));
        using var second = await PostAsync(ines, Endpoint, PublicKey, Auth, "quarry-steps");
        Assert.Equal(["quarry-steps"], await FollowedAsync(server));
        using var third = await ines.PostAsJsonAsync(
            new Uri("/api/push/subscriptions", UriKind.Relative),
            new { endpoint = Endpoint, keys = new { p256dh = PublicKey, auth = Auth } },
            Cancel);
        Assert.Equal(HttpStatusCode.Created, third.StatusCode);
        Assert.Equal(["quarry-steps"], await FollowedAsync(server));
    }

    private static async Task<List<string>> FollowedAsync(RunningServer server)
    {
        await using var db = await server.Get<IDbContextFactory<RegistryDb>>().CreateDbContextAsync(Cancel);
        return await db.Follows.Select(f => f.SpotId).ToListAsync(Cancel);
    }

    private static Task<HttpResponseMessage> PostAsync(HttpClient browser, string endpoint, string p256dh, string auth, string spot) =>
        browser.PostAsJsonAsync(
            new Uri("/api/push/subscriptions", UriKind.Relative),
            new { endpoint, keys = new { p256dh, auth }, spots = new[] { spot } },
            Cancel);
}
