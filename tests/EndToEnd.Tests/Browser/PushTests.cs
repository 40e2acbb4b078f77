using System.Security.Claims;
using System.Text.Json;
using System.Text.Json.Nodes;
using Microsoft.Extensions.DependencyInjection;
using Microsoft.Playwright;
using PavementWatch.Dashboards.Spots;
using PavementWatch.Dashboards.Tests.Hosting;
using PavementWatch.Tests;
using static Microsoft.Playwright.Assertions;

namespace PavementWatch.EndToEnd.Tests.Browser;

/// <summary>"Alert me", and the alert itself, in the real service worker.</summary>
public class PushTests(BrowserFixture browser)
{
    // A browser of a test has no push service; this one hands out a subscription with the keys of RFC 8291, appendix A.
    private const string Subscribes = $$"""
        const subscription = {
            endpoint: 'https://push.example/1', options: {},
            toJSON: () => ({ endpoint: 'https://push.example/1', keys: { p256dh: '{{TestKeys.BrowserPublic}}', auth: '{{TestKeys.BrowserAuth}}' } }),
            unsubscribe: async () => { window.subscribed = null; return true; },
        };
        PushManager.prototype.getSubscription = async () => window.subscribed ?? null;
        PushManager.prototype.subscribe = async options => { window.askedKey = options.applicationServerKey.length; return window.subscribed = subscription; };
        """;

    // Each subscription has another address, and a page that is opened anew finds none: the browser has dropped it.
    private const string Drops = $$"""
        const made = n => ({
            endpoint: `https://push.example/${n}`, options: {},
            toJSON: () => ({ endpoint: `https://push.example/${n}`, keys: { p256dh: '{{TestKeys.BrowserPublic}}', auth: '{{TestKeys.BrowserAuth}}' } }),
            unsubscribe: async () => { window.subscribed = null; return true; },
        });
        PushManager.prototype.getSubscription = async () => window.subscribed ?? null;
        PushManager.prototype.subscribe = async () => {
            const n = Number(localStorage.getItem('test.subscriptions') ?? 0) + 1;
            localStorage.setItem('test.subscriptions', n);
            return window.subscribed = made(n);
        };
        """;

    private static readonly string[] Notifications = ["notifications"];

    [Fact]
    public async Task Press_subscribes_the_phone_and_tells_the_server_which_spot()
    {
        await using var host = await DashboardHost.StartAsync();
        await using var phone = await Phone.OpenAsync(browser, host.Address, Notifications);
        await phone.Context.AddInitScriptAsync(Subscribes);
        await phone.OpenWithWorkerAsync("/");
        var button = phone.Card("north-gate-plaza").GetByRole(AriaRole.Button);
        await button.ClickAsync();

        await Expect(phone.Page.Locator("#alerts-said")).ToHaveTextAsync("You will be told about North Gate plaza on this phone.");
        await Expect(button).ToHaveAttributeAsync("aria-pressed", "true");
        await phone.PictureAsync("alert-me");
        var sent = Assert.Single(host.Sent);
        Assert.Equal(
            "POST /api/push/subscriptions {\"endpoint\":\"https://push.example/1\",\"keys\":{\"p256dh\":\""
            + TestKeys.BrowserPublic + "\",\"auth\":\"" + TestKeys.BrowserAuth + "\"},\"spots\":[\"north-gate-plaza\"]}", sent);
        // An uncompressed point on P-256 (RFC 8292, section 3.2).
        Assert.Equal(65, await phone.Page.EvaluateAsync<int>("window.askedKey"));

        await button.ClickAsync();
        await Expect(phone.Page.Locator("#alerts-said")).ToHaveTextAsync("No more alerts about North Gate plaza.");
        Assert.EndsWith("\"spots\":[]}", host.Sent.Last(), StringComparison.Ordinal);
    }

    [Fact]
    public async Task Alerts_are_turned_off_for_the_whole_phone()
    {
        await using var host = await DashboardHost.StartAsync();
        await using var phone = await Phone.OpenAsync(browser, host.Address, Notifications);
        await phone.Context.AddInitScriptAsync(Subscribes);
        await phone.OpenWithWorkerAsync("/");
        var button = phone.Page.GetByRole(AriaRole.Button, new() { Name = "Alerts on" });
        await button.ClickAsync();
        await Expect(button).ToHaveAttributeAsync("aria-pressed", "true");
        await button.ClickAsync();

        await Expect(button).ToHaveAttributeAsync("aria-pressed", "false");
        Assert.Equal("DELETE /api/push/subscriptions {\"endpoint\":\"https://push.example/1\"}", host.Sent.Last());
    }

    [Fact]
    public async Task A_phone_whose_browser_dropped_its_subscription_asks_for_another_on_its_next_visit_and_says_so()
    {
        await using var host = await DashboardHost.StartAsync();
        await using var phone = await Phone.OpenAsync(browser, host.Address, Notifications);
        await phone.Context.AddInitScriptAsync(Drops);
        await phone.OpenWithWorkerAsync("/");
        await phone.Card("north-gate-plaza").GetByRole(AriaRole.Button).ClickAsync();
        await Expect(phone.Page.Locator("#alerts-said")).ToHaveTextAsync("You will be told about North Gate plaza on this phone.");

        await phone.Page.ReloadAsync();

        await Expect(phone.Page.Locator("#alerts-said")).ToHaveTextAsync("This phone had lost its alerts. They are on again.");
        await Expect(phone.Card("north-gate-plaza").GetByRole(AriaRole.Button)).ToHaveAttributeAsync("aria-pressed", "true");
        Assert.StartsWith("POST /api/push/subscriptions {\"endpoint\":\"https://push.example/2\"", host.Sent.Last(), StringComparison.Ordinal);
        Assert.EndsWith("\"kept\":[\"north-gate-plaza\"],\"replaces\":\"https://push.example/1\"}", host.Sent.Last(), StringComparison.Ordinal);

        // Switched off, it stays so.
        await phone.Page.GetByRole(AriaRole.Button, new() { Name = "Alerts on" }).ClickAsync();
        await Expect(phone.Page.Locator("#alerts-said")).ToHaveTextAsync("No more alerts on this phone.");
        var sent = host.Sent.Count;
        await phone.OpenWithWorkerAsync("/");
        await Expect(phone.Page.Locator("#live")).ToHaveTextAsync("Live");
        Assert.Equal(sent, host.Sent.Count);
    }

    [Fact]
    public async Task A_phone_on_which_notifications_were_blocked_says_that_no_alerts_come_any_more()
    {
        await using var host = await DashboardHost.StartAsync();
        await using var phone = await Phone.OpenAsync(browser, host.Address, Notifications);
        await phone.Context.AddInitScriptAsync(Drops);
        await phone.OpenWithWorkerAsync("/");
        await phone.Card("north-gate-plaza").GetByRole(AriaRole.Button).ClickAsync();
        await Expect(phone.Page.Locator("#alerts-said")).ToHaveTextAsync("You will be told about North Gate plaza on this phone.");

        await phone.Context.ClearPermissionsAsync();
        await phone.Page.ReloadAsync();

        await Expect(phone.Page.Locator("#alerts-said")).ToContainTextAsync("No alerts come to this phone any more. Notifications are blocked for this site.");
        await Expect(phone.Card("north-gate-plaza").GetByRole(AriaRole.Button)).ToHaveAttributeAsync("aria-pressed", "false");
    }

    [Theory]
    [InlineData("newSubscription: made(9)")] // Of the one before the browser says nothing.
    [InlineData("newSubscription: null")] // Nor has it another.
    public async Task A_worker_whose_browser_changed_the_subscription_hands_on_what_its_phone_follows_and_asks_until_the_server_has_it(string change)
    {
        await using var host = await DashboardHost.StartAsync();
        await using var phone = await Phone.OpenAsync(browser, host.Address, Notifications);
        await phone.Context.AddInitScriptAsync(Drops);
        await phone.OpenWithWorkerAsync("/");
        await phone.Card("north-gate-plaza").GetByRole(AriaRole.Button).ClickAsync();
        await Expect(phone.Page.Locator("#alerts-said")).ToHaveTextAsync("You will be told about North Gate plaza on this phone.");

        // The first time there is no network.
        await InWorkerAsync(phone, host.Address, $$"""
            {
                const made = n => ({ toJSON: () => ({ endpoint: `https://push.example/${n}`, keys: { p256dh: '{{TestKeys.BrowserPublic}}', auth: '{{TestKeys.BrowserAuth}}' } }) });
                PushManager.prototype.subscribe = async options => { if (!options.userVisibleOnly || !options.applicationServerKey) throw new TypeError('no options'); return made(9); };
                const real = self.fetch;
                let posts = 0;
                self.fetch = (path, options) => options?.method === 'POST' && posts++ === 0 ? Promise.reject(new TypeError('no network')) : real(path, options);
                dispatchEvent(Object.assign(new ExtendableEvent('pushsubscriptionchange'), { oldSubscription: null, {{change}} }));
            }
            """);

        await host.SentAsync(
            "POST /api/push/subscriptions {\"endpoint\":\"https://push.example/9\",\"keys\":{\"p256dh\":\"" + TestKeys.BrowserPublic
            + "\",\"auth\":\"" + TestKeys.BrowserAuth + "\"},\"kept\":[\"north-gate-plaza\"],\"replaces\":\"https://push.example/1\"}");
    }

    [Fact]
    public async Task Without_a_walk_alerts_that_are_on_say_that_nothing_is_told_and_offer_the_spots_of_a_site()
    {
        await using var host = await DashboardHost.StartAsync();
        await using var phone = await Phone.OpenAsync(browser, host.Address, Notifications);
        await phone.Context.AddInitScriptAsync(Subscribes);
        await phone.OpenWithWorkerAsync("/");
        await phone.Page.GetByRole(AriaRole.Button, new() { Name = "Alerts on" }).ClickAsync();
        await Expect(phone.Page.Locator("#alerts-said")).ToContainTextAsync("Alerts are on, but nothing will be told yet");

        await phone.Page.GetByRole(AriaRole.Button, new() { Name = "Follow all of Mill" }).ClickAsync();

        await Expect(phone.Page.Locator("#alerts-said")).ToHaveTextAsync("Alerts are on: you will be told about the 2 spots you follow on this phone.");
        Assert.EndsWith("\"spots\":[\"mill-footbridge\",\"mill-lane\"]}", host.Sent.Last(), StringComparison.Ordinal);
        await Expect(phone.Card("mill-lane").GetByRole(AriaRole.Button)).ToHaveAttributeAsync("aria-pressed", "true");
        await Expect(phone.Page.Locator("#alerts-none")).ToBeHiddenAsync();
    }

    [Fact]
    public async Task With_a_walk_its_spots_are_told_and_a_phone_that_is_gone_can_be_forgotten()
    {
        await using var host = await DashboardHost.StartAsync(s => s.AddSingleton<IVisitorAlerts>(new Alerts(new(HasWalks: true, [Ferngate.Now.AddHours(-3)]))));
        await using var phone = await Phone.OpenAsync(browser, host.Address, Notifications);
        await phone.Context.AddInitScriptAsync(Subscribes);
        await phone.OpenWithWorkerAsync("/");
        await Expect(phone.Page.Locator("#gone-phones")).ToContainTextAsync("A phone of yours gets no alerts any more, since 11:32");
        await phone.PictureAsync("gone-phone");

        await phone.Page.GetByRole(AriaRole.Button, new() { Name = "Alerts on" }).ClickAsync();
        await Expect(phone.Page.Locator("#alerts-said")).ToHaveTextAsync("Alerts are on: you will be told about the spots on your walks on this phone.");
        await Expect(phone.Page.Locator("#alerts-none")).ToHaveCountAsync(0);

        await phone.Page.GetByRole(AriaRole.Button, new() { Name = "I do not use it any more" }).ClickAsync();
        await Expect(phone.Page.Locator("#gone-phones")).ToHaveCountAsync(0);
        Assert.StartsWith("DELETE /api/push/gone", host.Sent.Last(), StringComparison.Ordinal);
    }

    private sealed class Alerts(VisitorAlerts alerts) : IVisitorAlerts
    {
        public Task<VisitorAlerts> OfAsync(ClaimsPrincipal visitor, CancellationToken cancellationToken) => Task.FromResult(alerts);
    }

    [Fact]
    public async Task Position_is_sent_only_after_the_press_and_forgotten_on_the_next()
    {
        await using var host = await DashboardHost.StartAsync();
        await using var phone = await Phone.OpenAsync(browser, host.Address, ["notifications", "geolocation"]);
        await phone.Context.SetGeolocationAsync(new() { Latitude = 37.41f, Longitude = -97.01f });
        await phone.Context.AddInitScriptAsync(Subscribes);
        await phone.OpenWithWorkerAsync("/");
        await phone.Page.GetByRole(AriaRole.Button, new() { Name = "Nearest first" }).ClickAsync();
        await Expect(phone.Page.Locator("#nearest-said")).ToHaveTextAsync("Nearest first.");
        Assert.Empty(host.Sent);

        var near = phone.Page.GetByRole(AriaRole.Button, new() { Name = "Alert me near where I am" });
        await near.ClickAsync();
        await Expect(near).ToHaveAttributeAsync("aria-pressed", "true");
        Assert.Contains("POST /api/position {\"latitude\":37.41", host.Sent.Last(), StringComparison.Ordinal);
        await near.ClickAsync();
        await Expect(near).ToHaveAttributeAsync("aria-pressed", "false");
        Assert.StartsWith("DELETE /api/position", host.Sent.Last(), StringComparison.Ordinal);
    }

    [Fact]
    public async Task Push_service_that_never_answers_is_given_up_after_ten_seconds_with_a_remedy()
    {
        await using var host = await DashboardHost.StartAsync();
        await using var phone = await Phone.OpenAsync(browser, host.Address, Notifications);
        await phone.Context.AddInitScriptAsync(
            "PushManager.prototype.subscribe = () => { window.asked = true; return new Promise(() => {}); };");
        await phone.Page.Clock.InstallAsync();
        await phone.OpenWithWorkerAsync("/");
        await phone.Card("mill-lane").GetByRole(AriaRole.Button).ClickAsync();
        await phone.UntilAsync("() => window.asked === true");
        await Expect(phone.Page.Locator("#alerts-said")).ToContainTextAsync("Asking");
        await phone.Page.Clock.FastForwardAsync(10_000);

        await Expect(phone.Page.Locator("#alerts-said")).ToContainTextAsync("did not answer within 10 s");
        await Expect(phone.Page.Locator("#alerts-said")).ToContainTextAsync("then press again");
    }

    [Fact]
    public async Task Browser_that_refuses_is_told_what_to_change()
    {
        await using var host = await DashboardHost.StartAsync();
        // An ordinary window of a test browser is a private one and refuses to subscribe.
        await using var phone = await Phone.OpenAsync(browser, host.Address, Notifications);
        phone.Expected = "does not support the Push API in incognito mode";
        await phone.OpenWithWorkerAsync("/");
        await phone.Card("mill-lane").GetByRole(AriaRole.Button).ClickAsync();
        await Expect(phone.Page.Locator("#alerts-said")).ToContainTextAsync("then press again");
        await Expect(phone.Card("mill-lane").GetByRole(AriaRole.Button)).ToHaveAttributeAsync("aria-pressed", "false");
    }

    [Fact]
    public async Task Push_becomes_a_notification_and_a_receipt_and_the_next_of_its_spot_replaces_it()
    {
        await using var host = await DashboardHost.StartAsync();
        await using var phone = await Phone.OpenAsync(browser, host.Address, Notifications);
        await phone.OpenWithWorkerAsync("/");
        await phone.DeliverPushAsync(host.Address, Message("7", "tooHot", "North Gate plaza too hot"));
        await phone.DeliverPushAsync(host.Address, Message("8", "easing", "North Gate plaza is cooling"));

        await host.SentAsync("POST /api/push/receipts/7 ");
        await host.SentAsync("POST /api/push/receipts/8 ");
        var only = Assert.Single(await phone.NotificationsAsync());
        Assert.Equal("North Gate plaza is cooling", only.GetProperty("title").GetString());
        Assert.Equal("52.4 °C (126 °F) at 14:31.", only.GetProperty("body").GetString());
        Assert.Equal("spot-north-gate-plaza", only.GetProperty("tag").GetString());
    }

    [Fact]
    public async Task Push_of_several_spots_sends_a_receipt_for_each_and_for_what_it_tells_again()
    {
        await using var host = await DashboardHost.StartAsync();
        await using var phone = await Phone.OpenAsync(browser, host.Address, Notifications);
        await phone.OpenWithWorkerAsync("/");
        var message = JsonNode.Parse(Message("7", "tooCold", "North Gate: plaza and steps freezing"))!;
        (message["side"], message["with"], message["again"]) = ("cold", new JsonArray("8"), new JsonArray("9"));

        await phone.DeliverPushAsync(host.Address, message.ToJsonString());

        foreach (var id in new[] { "7", "8", "9" })
            await host.SentAsync($"POST /api/push/receipts/{id} ");
        Assert.Equal("North Gate: plaza and steps freezing", Assert.Single(await phone.NotificationsAsync()).GetProperty("title").GetString());
    }

    [Fact]
    public async Task Push_that_comes_again_takes_its_own_place_without_a_sound_and_another_of_its_spot_with_one()
    {
        await using var host = await DashboardHost.StartAsync();
        await using var phone = await Phone.OpenAsync(browser, host.Address, Notifications);
        await phone.OpenWithWorkerAsync("/");
        foreach (var (id, silent) in new[] { ("7", false), ("7", true), ("8", false) })
        {
            var before = host.Sent.Count;
            await phone.DeliverPushAsync(host.Address, Message(id, "tooHot", "North Gate plaza too hot"));
            await Patience.UntilAsync(() => host.Sent.Skip(before).Contains($"POST /api/push/receipts/{id} "), () => $"no receipt of {id}");
            var only = Assert.Single(await phone.NotificationsAsync());
            Assert.Equal((id, silent), (only.GetProperty("data").GetProperty("id").GetString(), only.GetProperty("silent").GetBoolean()));
        }
    }

    [Fact]
    public async Task Push_that_cannot_be_read_still_sends_the_walker_to_the_page()
    {
        await using var host = await DashboardHost.StartAsync();
        await using var phone = await Phone.OpenAsync(browser, host.Address, Notifications);
        await phone.OpenWithWorkerAsync("/");
        await phone.DeliverPushAsync(host.Address, "not JSON");
        Assert.Contains("Open the page", Assert.Single(await phone.NotificationsAsync()).GetProperty("body").GetString(), StringComparison.Ordinal);
    }

    [Fact]
    public async Task Press_on_the_notification_opens_the_spot()
    {
        await using var host = await DashboardHost.StartAsync();
        await using var phone = await Phone.OpenAsync(browser, host.Address, Notifications);
        await phone.OpenWithWorkerAsync("/");
        await phone.DeliverPushAsync(host.Address, Message("9", "tooHot", "North Gate plaza too hot"));
        await phone.NotificationsAsync();
        await InWorkerAsync(phone, host.Address,
            "registration.getNotifications().then(n => dispatchEvent(new NotificationEvent('notificationclick', { notification: n[0] })))");
        await phone.Page.WaitForURLAsync("**/spots/north-gate-plaza");
    }

    private static string Message(string id, string state, string title) => JsonSerializer.Serialize(new
    {
        id,
        spot = "north-gate-plaza",
        title,
        body = "52.4 °C (126 °F) at 14:31.",
        state,
        at = Ferngate.Now,
        url = "/spots/north-gate-plaza",
        tag = "spot-north-gate-plaza",
    });

    /// <summary>Runs a line in the service worker, by way of the browser's own tools: the page cannot.</summary>
    private static async Task InWorkerAsync(Phone phone, string origin, string line)
    {
        var tools = await phone.Context.Browser!.NewBrowserCDPSessionAsync();
        var targets = await tools.SendAsync("Target.getTargets");
        var worker = targets!.Value.GetProperty("targetInfos").EnumerateArray()
            .First(t => t.GetProperty("type").GetString() == "service_worker"
                && t.GetProperty("url").GetString()!.StartsWith(origin, StringComparison.Ordinal));
        var session = await tools.SendAsync("Target.attachToTarget", new()
        {
            ["targetId"] = worker.GetProperty("targetId").GetString()!,
            ["flatten"] = false,
        });
        await tools.SendAsync("Target.sendMessageToTarget", new()
        {
            ["sessionId"] = session!.Value.GetProperty("sessionId").GetString()!,
            ["message"] = JsonSerializer.Serialize(new { id = 1, method = "Runtime.evaluate", @params = new { expression = line } }),
        });
    }
}
