using System.Collections.Concurrent;
using System.Text.Json;
using Deque.AxeCore.Playwright;
using Microsoft.Playwright;
using PavementWatch.Tests;

namespace PavementWatch.EndToEnd.Tests.Browser;

/// <summary>A phone with one page open; fails the test when the page left an error or offended the content security policy.</summary>
internal sealed class Phone : IAsyncDisposable
{
    private readonly ConcurrentQueue<string> _complaints = new();

    private Phone(IBrowserContext context, IPage page) => (Context, Page) = (context, page);

    public IBrowserContext Context { get; }

    public IPage Page { get; }

    /// <summary>Whether failed requests are part of the test.</summary>
    public bool NetworkMayFail { get; set; }

    /// <summary>A complaint that belongs to the test.</summary>
    public string? Expected { get; set; }

    public static async Task<Phone> OpenAsync(
        BrowserFixture fixture, string address, string[]? permissions = null, bool dark = false, bool desktop = false,
        bool scripts = true, string? zone = null)
    {
        var browser = await fixture.RequireAsync();
        var context = await browser.NewContextAsync(new()
        {
            BaseURL = address,
            ViewportSize = desktop ? new() { Width = 1280, Height = 900 } : new() { Width = 390, Height = 844 },
            DeviceScaleFactor = desktop ? 1 : 2,
            IsMobile = !desktop,
            HasTouch = !desktop,
            JavaScriptEnabled = scripts,
            ColorScheme = dark ? ColorScheme.Dark : ColorScheme.Light,
            Permissions = permissions ?? [],
            // Far from Ferngate: whatever shows the phone's own time is seen to be wrong.
            TimezoneId = zone ?? "Asia/Tokyo",
        });
        context.SetDefaultTimeout((float)Patience.Span.TotalMilliseconds);
        var phone = new Phone(context, await context.NewPageAsync());
        phone.Page.Console += (_, message) =>
        {
            if (message.Type == "error" && !(phone.NetworkMayFail && message.Text.Contains("Failed to load resource", StringComparison.Ordinal)))
                phone._complaints.Enqueue($"{message.Type}: {message.Text} ({message.Location})");
        };
        phone.Page.PageError += (_, error) => phone._complaints.Enqueue($"uncaught: {error}");
        return phone;
    }

    /// <summary>Opens a page and waits until the service worker rules it.</summary>
    public async Task OpenWithWorkerAsync(string path)
    {
        await Page.GotoAsync(path);
        // It takes over the page while it is still becoming active; until then it may move no window.
        await Page.WaitForFunctionAsync("() => navigator.serviceWorker.controller?.state === 'activated'");
    }

    /// <summary>Opens a link and presses its button, if it has one.</summary>
    public async Task EnterAsync(string link)
    {
        await Page.GotoAsync(link);
        if (await Page.Locator("#enter button").CountAsync() == 0)
            return;
        await Page.Locator("#enter button").ClickAsync();
        await Page.WaitForURLAsync(url => !url.Contains("/enter/", StringComparison.Ordinal));
    }

    public ILocator Card(string spot) => Page.Locator($"#spot-{spot}");

    /// <summary>What is wider than the screen: the page, a heading, or a table that does not scroll in a region of its own that the keyboard reaches and that has a name.</summary>
    /// <remarks>Against the screen: the window of a phone grows with what is too wide for it.</remarks>
    public Task<string[]> TooWideAsync() => Page.EvaluateAsync<string[]>(
        """
        () => {
            const wide = screen.width + 1;
            const region = t => t.closest('[role="region"]');
            const isFine = r => r && r.tabIndex === 0 && r.getAttribute('aria-label') && getComputedStyle(r).overflowX === 'auto' && r.getBoundingClientRect().right < wide;
            return [
                ...document.documentElement.scrollWidth < wide ? [] : [`the page is ${document.documentElement.scrollWidth} wide`],
                ...[...document.querySelectorAll('h1, h2, .name, .button, label')].filter(e => e.checkVisibility() && e.getBoundingClientRect().right >= wide && !region(e)).map(e => e.outerHTML),
                ...[...document.querySelectorAll('table')].filter(t => t.checkVisibility() && !isFine(region(t))).map(t => `a table that does not scroll in itself: ${t.outerHTML.slice(0, 200)}`),
            ];
        }
        """);

    /// <summary>What the page breaks of axe's rules, in light and in dark.</summary>
    /// <param name="picture">Name of the pictures kept of both, if any.</param>
    public async Task<IReadOnlyList<string>> BrokenRulesAsync(string? picture = null)
    {
        var broken = new List<string>();
        foreach (var scheme in new[] { ColorScheme.Light, ColorScheme.Dark })
        {
            await Page.EmulateMediaAsync(new() { ColorScheme = scheme });
            if (picture is not null)
                await PictureAsync($"{picture}-{scheme}", whole: true);
            broken.AddRange((await Page.RunAxe()).Violations.Select(v =>
                $"{scheme}: {v.Id}: {v.Help}: {string.Join("; ", v.Nodes.Select(n => n.Html[..Math.Min(200, n.Html.Length)]))}"));
        }

        return broken;
    }

    /// <summary>Keeps a picture where <c>PAVEMENT_PICTURES</c> names a folder.</summary>
    public async Task PictureAsync(string name, bool whole = false, ILocator? only = null)
    {
        if (Environment.GetEnvironmentVariable("PAVEMENT_PICTURES") is not { Length: > 0 } folder)
            return;
        var path = Path.Combine(folder, $"{name}.png");
        if (only is null)
            await Page.ScreenshotAsync(new() { Path = path, FullPage = whole });
        else
            await only.ScreenshotAsync(new() { Path = path });
    }

    /// <summary>Hands the service worker a push, as the browser does when one has arrived and is opened.</summary>
    public async Task DeliverPushAsync(string origin, string data)
    {
        var tools = await Context.NewCDPSessionAsync(Page);
        var registration = new TaskCompletionSource<string>(TaskCreationOptions.RunContinuationsAsynchronously);
        tools.Event("ServiceWorker.workerRegistrationUpdated").OnEvent += (_, e) =>
        {
            foreach (var one in e!.Value.GetProperty("registrations").EnumerateArray())
            {
                if (one.GetProperty("scopeURL").GetString() == $"{origin}/")
                    registration.TrySetResult(one.GetProperty("registrationId").GetString()!);
            }
        };
        await tools.SendAsync("ServiceWorker.enable");
        await tools.SendAsync("ServiceWorker.deliverPushMessage", new()
        {
            ["origin"] = origin,
            ["registrationId"] = await registration.Task.WaitAsync(TestContext.Current.CancellationToken),
            ["data"] = data,
        });
        await tools.DetachAsync();
    }

    /// <summary>The notifications shown, once there are any.</summary>
    public async Task<JsonElement[]> NotificationsAsync()
    {
        await UntilAsync("async () => (await (await navigator.serviceWorker.ready).getNotifications()).length > 0");
        var shown = await Page.EvaluateAsync<JsonElement>(
            "async () => (await (await navigator.serviceWorker.ready).getNotifications()).map(n => ({ title: n.title, body: n.body, tag: n.tag, data: n.data, silent: n.silent === true }))");
        return [.. shown.EnumerateArray()];
    }

    /// <summary>Waits until a function of the page says yes. Asked from here: the page's own policy forbids a polling evaluation in it.</summary>
    public async Task UntilAsync(string function, object? argument = null)
    {
        using var patience = Patience.Token();
        while (!patience.IsCancellationRequested)
        {
            if (await Page.EvaluateAsync<bool>(function, argument))
                return;
            await Task.Delay(50, TestContext.Current.CancellationToken);
        }

        Assert.Fail($"it did not become true that {function}");
    }

    public async ValueTask DisposeAsync()
    {
        await Context.DisposeAsync();
        var complaints = _complaints.Where(c => Expected is null || !c.Contains(Expected, StringComparison.Ordinal)).ToList();
        Assert.True(complaints.Count == 0, string.Join('\n', complaints));
    }
}
