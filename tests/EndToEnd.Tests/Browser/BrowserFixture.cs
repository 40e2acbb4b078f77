using Microsoft.Playwright;
using PavementWatch.Tests;

[assembly: AssemblyFixture(typeof(PavementWatch.EndToEnd.Tests.Browser.BrowserFixture))]

namespace PavementWatch.EndToEnd.Tests.Browser;

/// <summary>One real browser for all tests; started when the first one asks.</summary>
public sealed class BrowserFixture : IAsyncDisposable
{
    private const string Chromium = "/usr/bin/chromium";

    private static readonly string[] Arguments =
    [
        "--no-sandbox", "--disable-quic", "--no-first-run", "--disable-background-networking",
        "--disable-component-update", "--disable-sync",
    ];

    private readonly SemaphoreSlim _one = new(1, 1);
    private IPlaywright? _playwright;
    private IBrowser? _browser;

    /// <summary>The browser; skips the test, naming it, where it is not installed.</summary>
    public async Task<IBrowser> RequireAsync()
    {
        Assert.SkipUnless(File.Exists(Chromium), $"no browser here: {Chromium} is missing (apt-get install chromium)");
        await _one.WaitAsync(TestContext.Current.CancellationToken);
        try
        {
            _playwright ??= await Playwright.CreateAsync();
            Assertions.SetDefaultExpectTimeout((float)Patience.Span.TotalMilliseconds);
            return _browser ??= await _playwright.Chromium.LaunchAsync(new() { ExecutablePath = Chromium, Args = Arguments });
        }
        finally
        {
            _one.Release();
        }
    }

    /// <inheritdoc />
    public async ValueTask DisposeAsync()
    {
        if (_browser is not null)
            await _browser.DisposeAsync();
        _playwright?.Dispose();
        _one.Dispose();
    }
}
