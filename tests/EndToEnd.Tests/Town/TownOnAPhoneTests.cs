using System.Threading.Channels;
using Microsoft.AspNetCore.Builder;
using Microsoft.AspNetCore.Hosting;
using Microsoft.AspNetCore.Http;
using Microsoft.Extensions.DependencyInjection;
using Microsoft.Extensions.Logging;
using Microsoft.Extensions.Options;
using Microsoft.Playwright;
using PavementWatch.EndToEnd.Tests.Browser;
using PavementWatch.Server.Notifications;
using PavementWatch.Server.Notifications.WebPush;
using PavementWatch.Tests;
using static Microsoft.Playwright.Assertions;

namespace PavementWatch.EndToEnd.Tests.Town;

/// <summary>The whole product in a real browser: from the press on "Alert me" to the notification of a real alert.</summary>
[Collection(nameof(SharedFastTown))]
public sealed class TownOnAPhoneTests(FastTown town, BrowserFixture browser)
{
    private static readonly string[] Notifications = ["notifications"];

    [Fact]
    public async Task Press_on_alert_me_ends_in_a_notification_of_the_real_alert()
    {
        var run = await town.StartedAsync();
        var arrivals = Channel.CreateUnbounded<PushArrival>();
        var receiver = new PushReceiver(arrival =>
        {
            arrivals.Writer.TryWrite(arrival);
            return Task.FromResult(StatusCodes.Status201Created);
        });
        var builder = WebApplication.CreateSlimBuilder();
        builder.Logging.ClearProviders();
        builder.WebHost.UseUrls("http://127.0.0.1:0");
        await using var service = builder.Build();
        receiver.Map(service);
        await service.StartAsync(TestContext.Current.CancellationToken);
        var (p256dh, auth) = receiver.Add("phone");
        // The demo speaks to its own phone's push service only.
        run.Server.Services.GetRequiredService<IOptions<NotificationOptions>>().Value.LoopbackOrigins.Add(service.Urls.Single());

        await using var phone = await Phone.OpenAsync(browser, run.Address, Notifications);
        await phone.Context.AddInitScriptAsync($$"""
            const subscription = {
                endpoint: '{{service.Urls.Single()}}/push/phone', options: {},
                toJSON: () => ({ endpoint: '{{service.Urls.Single()}}/push/phone', keys: { p256dh: '{{p256dh}}', auth: '{{auth}}' } }),
                unsubscribe: async () => { window.subscribed = null; return true; },
            };
            PushManager.prototype.getSubscription = async () => window.subscribed ?? null;
            PushManager.prototype.subscribe = async () => window.subscribed = subscription;
            """);
        await phone.EnterAsync(await town.LinkOfAsync("walker Tobias"));
        await phone.OpenWithWorkerAsync("/");
        foreach (var spot in Server.Demo.DemoTown.Spots)
        {
            var button = phone.Card(spot.Spot.Id.Value).GetByRole(AriaRole.Button);
            await button.ClickAsync();
            await Expect(button).ToHaveAttributeAsync("aria-pressed", "true");
        }

        // Whatever the hour of the running day is by now, some spot changes within it.
        var arrival = await arrivals.Reader.ReadAsync(TestContext.Current.CancellationToken)
            .AsTask().WaitAsync(Patience.Story, TestContext.Current.CancellationToken);
        Assert.Equal("high", arrival.Urgency);
        Assert.InRange(arrival.TimeToLiveSeconds, 1, 30 * 60);
        await phone.DeliverPushAsync(run.Address, arrival.Text);
        var shown = Assert.Single(await phone.NotificationsAsync());
        Assert.Contains("°F", shown.GetProperty("body").GetString(), StringComparison.Ordinal);
    }

    [Fact]
    public async Task Walker_sees_five_spots_change_by_themselves_and_a_day_with_its_limit()
    {
        var run = await town.StartedAsync();
        await town.SaysAsync("push to Ines: Sandpit Corner too hot");
        await using var phone = await Phone.OpenAsync(browser, run.Address);
        await phone.EnterAsync(await town.LinkOfAsync("walker Ines"));
        await Expect(phone.Page.Locator("[id^=spot-]")).ToHaveCountAsync(5);
        var plaza = phone.Card("north-gate-plaza");
        var before = await plaza.InnerTextAsync();
        await phone.UntilAsync(
            "before => document.querySelector('#spot-north-gate-plaza').innerText !== before", before);
        await phone.PictureAsync("town-walker");

        await phone.Page.GotoAsync("/spots/north-gate-plaza");
        await Expect(phone.Page.Locator("svg, canvas").First).ToBeVisibleAsync();
        await Expect(phone.Page.Locator("body")).ToContainTextAsync("120 °F");
        await phone.PictureAsync("town-day", only: phone.Page.Locator("figure.curve"));
    }
}
