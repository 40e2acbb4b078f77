using System.Collections.Concurrent;
using System.Net.ServerSentEvents;
using System.Runtime.CompilerServices;
using System.Text.Json;
using Microsoft.AspNetCore.Builder;
using Microsoft.AspNetCore.Hosting;
using Microsoft.AspNetCore.Http;
using Microsoft.Extensions.DependencyInjection;
using Microsoft.Extensions.Hosting;
using Microsoft.Extensions.Logging;
using Microsoft.Extensions.Time.Testing;
using PavementWatch.Dashboards.Days;
using PavementWatch.Dashboards.Hosting;
using PavementWatch.Dashboards.People;
using PavementWatch.Dashboards.Spots;
using PavementWatch.Tests;

namespace PavementWatch.Dashboards.Tests.Hosting;

/// <summary>The pages on a real port of loopback, with the smallest server that speaks their API.</summary>
internal sealed class DashboardHost : IAsyncDisposable
{
    private readonly WebApplication _app;
    private volatile bool _refuse;
    private readonly SemaphoreSlim _arrived = new(0);
    private CancellationTokenSource _cut = new();

    private DashboardHost(Action<IServiceCollection>? services)
    {
        var builder = WebApplication.CreateBuilder(new WebApplicationOptions
        {
            // The library's own list of static assets stands beside the tests.
            ApplicationName = "PavementWatch.Dashboards",
            ContentRootPath = AppContext.BaseDirectory,
            EnvironmentName = Environments.Production,
        });
        builder.WebHost.UseStaticWebAssets().UseUrls("http://127.0.0.1:0");
        builder.Logging.ClearProviders().AddProvider(Log);
        builder.Services.AddSingleton<TimeProvider>(Clock);
        builder.Services.AddSingleton<ISpotBoard>(Board).AddSingleton<ISpotDays>(Board);
        builder.Services.AddAuthentication("test").AddScheme<TestScheme.NoOptions, TestScheme>("test", null);
        builder.Services.AddAuthorizationBuilder().AddPolicy(DashboardPolicies.Business, p => p.RequireRole(DashboardPolicies.Business));
        services?.Invoke(builder.Services);
        builder.Services.AddDashboards();
        _app = builder.Build();
        _app.Use((context, next) =>
        {
            if (!_refuse)
                return next(context);
            context.Abort();
            return Task.CompletedTask;
        });
        _app.Use((context, next) =>
        {
            // As strict as the server's: a page that needs more than its own files is noticed by the browser's complaint.
            context.Response.Headers.ContentSecurityPolicy =
                "default-src 'self'; img-src 'self' data:; object-src 'none'; base-uri 'none'; form-action 'self'; frame-ancestors 'none'; "
                + context.RequestServices.GetRequiredService<PageAssets>().ScriptSources;
            return next(context);
        });
        _app.UseAuthentication();
        _app.UseAuthorization();
        _app.UseAntiforgery();
        _app.MapDashboards();
        MapApi();
    }

    public TestBoard Board { get; } = new();

    public FakeTimeProvider Clock { get; } = new(Ferngate.Now);

    public ErrorLog Log { get; } = new();

    /// <summary>What the pages sent, e.g. <c>POST /api/push/receipts/7 </c> and the body behind it.</summary>
    public ConcurrentQueue<string> Sent { get; } = new();

    public string Address { get; private set; } = "";

    public HttpClient Client { get; } = new(new HttpClientHandler { AllowAutoRedirect = false });

    public static async Task<DashboardHost> StartAsync(Action<IServiceCollection>? services = null)
    {
        var host = new DashboardHost(services);
        await host._app.StartAsync();
        // A browser trusts http only under the name localhost; the port is bound on its IPv4 address.
        host.Address = $"http://localhost:{new Uri(host._app.Urls.Single()).Port}";
        host.Client.BaseAddress = new Uri(host.Address);
        return host;
    }

    /// <summary>Waits until the pages have sent this.</summary>
    public async Task SentAsync(string request)
    {
        while (!Sent.Contains(request))
            Assert.True(await _arrived.WaitAsync(Patience.Span), $"not sent: {request}; sent: {string.Join('\n', Sent)}");
    }

    /// <summary>From now on every connection is cut, as by a server that is gone.</summary>
    public async Task RefuseAsync(bool refuse)
    {
        _refuse = refuse;
        await _cut.CancelAsync();
        _cut.Dispose();
        _cut = new();
    }

    public async ValueTask DisposeAsync()
    {
        Client.Dispose();
        using var soon = new CancellationTokenSource(TimeSpan.FromSeconds(2));
        await _app.StopAsync(soon.Token);
        await _app.DisposeAsync();
        _cut.Dispose();
        _arrived.Dispose();
        Assert.Empty(Log.Errors);
    }

    private void MapApi()
    {
        _app.MapGet("/api/spots", (HttpContext context) => Board.All().Select(spot => SpotNowJson.Of(spot, Account.Unit(context.User))));
        _app.MapGet("/api/live", (HttpContext context) => TypedResults.ServerSentEvents(EventsAsync(Account.Unit(context.User), context.RequestAborted)));
        _app.MapGet("/api/push/key", () => new { key = TestKeys.ServerPublic });
        _app.MapPost("/leave", (HttpResponse response) =>
        {
            response.Cookies.Delete("role");
            return Results.Redirect("/");
        });
        string[] taken = ["/api/push/subscriptions", "/api/push/gone", "/api/push/receipts/{id}", "/api/position"];
        foreach (var path in taken)
        {
            _app.MapMethods(path, ["POST", "DELETE"], async (HttpRequest request) =>
            {
                using var reader = new StreamReader(request.Body);
                var body = await reader.ReadToEndAsync();
                Sent.Enqueue($"{request.Method} {request.Path} {body}");
                _arrived.Release();
                return Results.Json(new { spots = Spots(body) }, statusCode: StatusCodes.Status201Created);
            });
        }
    }

    /// <summary>What a device follows by its last word; as the server says it.</summary>
    private static string[] Spots(string body)
    {
        if (body.Length == 0)
            return [];
        using var json = JsonDocument.Parse(body);
        string[] names = ["spots", "kept"];
        var named = names.Where(name => json.RootElement.TryGetProperty(name, out _)).Select(name => json.RootElement.GetProperty(name)).ToList();
        return named.Count == 0 ? [] : [.. named[0].EnumerateArray().Select(s => s.GetString()!)];
    }

    private async IAsyncEnumerable<SseItem<string>> EventsAsync(TemperatureUnit unit, [EnumeratorCancellation] CancellationToken cancellationToken)
    {
        using var stop = CancellationTokenSource.CreateLinkedTokenSource(
            cancellationToken, _app.Lifetime.ApplicationStopping, _cut.Token);
        var changes = Board.ChangesAsync(stop.Token).GetAsyncEnumerator(stop.Token);
        await using (changes.ConfigureAwait(false))
        {
            // Listening begins before the snapshot is taken, so nothing falls between.
            var next = changes.MoveNextAsync();
            yield return new(JsonSerializer.Serialize(Board.All().Select(spot => SpotNowJson.Of(spot, unit)), JsonSerializerOptions.Web), "snapshot");
            while (await Continues(next))
            {
                yield return new(JsonSerializer.Serialize(SpotNowJson.Of(changes.Current, unit), JsonSerializerOptions.Web), "spot");
                next = changes.MoveNextAsync();
            }
        }
    }

    private static async Task<bool> Continues(ValueTask<bool> next)
    {
        try
        {
            return await next;
        }
        catch (OperationCanceledException)
        {
            return false;
        }
    }
}
