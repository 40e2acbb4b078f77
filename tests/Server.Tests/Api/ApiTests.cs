using System.Net;
using System.Net.ServerSentEvents;
using System.Text.Json;
using Microsoft.AspNetCore.Routing;
using PavementWatch.Core.Alerts;
using PavementWatch.Tests;
using static PavementWatch.Server.Tests.Api.RunningServer;

namespace PavementWatch.Server.Tests.Api;

public sealed class ApiTests
{
    private static CancellationToken Cancel => TestContext.Current.CancellationToken;

    private static Uri At(string path) => new(path, UriKind.Relative);

    [Fact]
    public async Task Spots_are_listed_in_the_businesss_order_with_units_in_their_names()
    {
        await using var server = await StartAsync();
        using var browser = await server.BrowserOfAsync(Role.Walker);
        await server.MeasureAsync(Good(NorthGate, Noon, 45.5));
        await server.SeenAsync(NorthGate, s => s.State == AlertState.Clear);

        using var json = JsonDocument.Parse(await browser.GetStringAsync(At("/api/spots"), Cancel));

        var spots = json.RootElement.EnumerateArray().ToList();
        Assert.Equal(["north-gate-plaza", "quarry-steps"], spots.Select(s => s.GetProperty("id").GetString()));
        var first = spots[0];
        Assert.Equal(45.5, first.GetProperty("surfaceCelsius").GetDouble());
        Assert.Equal("asphalt", first.GetProperty("surface").GetString());
        Assert.Equal(("warm", "clear"), (first.GetProperty("word").GetString(), first.GetProperty("state").GetString()));
        Assert.Equal(600, first.GetProperty("contactSeconds").GetDouble());
        Assert.Equal((49.0, 0.0), (first.GetProperty("limitCelsius").GetDouble(), first.GetProperty("coldLimitCelsius").GetDouble()));
        Assert.Equal(JsonValueKind.Null, spots[1].GetProperty("surfaceCelsius").ValueKind);
    }

    [Fact]
    public async Task Live_begins_with_every_spot_tells_changes_and_ends_quietly_when_the_server_stops()
    {
        await using var server = await StartAsync();
        using var browser = await server.BrowserOfAsync(Role.Walker);
        await server.MinuteAsync(NorthGate);
        using var answer = await browser.GetAsync(At("/api/live"), HttpCompletionOption.ResponseHeadersRead, Cancel);
        Assert.Equal("text/event-stream", answer.Content.Headers.ContentType?.MediaType);
        await using var stream = await answer.Content.ReadAsStreamAsync(Cancel);
        var events = SseParser.Create(stream).EnumerateAsync(Cancel).GetAsyncEnumerator(Cancel);

        Assert.True(await events.MoveNextAsync());
        Assert.Equal("snapshot", events.Current.EventType);
        Assert.Equal(2, JsonDocument.Parse(events.Current.Data).RootElement.GetArrayLength());

        await server.MeasureAsync(Good(NorthGate, server.Time.GetUtcNow(), 47.25));
        double? told = null;
        while (told != 47.25 && await events.MoveNextAsync())
        {
            if (events.Current.EventType != "spot")
                continue;
            using var spot = JsonDocument.Parse(events.Current.Data);
            // The minute before the reading may still be on its way.
            if (spot.RootElement.GetProperty("id").GetString() == "north-gate-plaza"
                && spot.RootElement.GetProperty("surfaceCelsius").ValueKind == JsonValueKind.Number)
                told = spot.RootElement.GetProperty("surfaceCelsius").GetDouble();
        }

        Assert.Equal(47.25, told);
        var stopped = server.App.StopAsync(Cancel);
        while (await events.MoveNextAsync())
        {
            // What was under way still comes; then the stream ends without an error.
        }

        await stopped.WaitAsync(Patience.Span, Cancel);
    }

    [Theory]
    [InlineData("/api/spots/nowhere/day", HttpStatusCode.NotFound)]
    [InlineData("/api/spots/NOT%20A%20NAME/day", HttpStatusCode.NotFound)]
    [InlineData("/api/spots/north-gate-plaza/day?date=14.7.2026", HttpStatusCode.BadRequest)]
    [InlineData("/api/spots/north-gate-plaza/day?date=0001-01-01", HttpStatusCode.BadRequest)]
    [InlineData("/api/spots/north-gate-plaza/day?date=2026-07-14", HttpStatusCode.OK)]
    [InlineData("/api/spots/north-gate-plaza/day", HttpStatusCode.OK)]
    [InlineData("/api/nothing-here", HttpStatusCode.NotFound)]
    public async Task A_day_that_cannot_be_is_refused(string path, HttpStatusCode status)
    {
        await using var server = await StartAsync();
        using var browser = await server.BrowserOfAsync(Role.Walker);

        using var answer = await browser.GetAsync(At(path), Cancel);

        Assert.Equal(status, answer.StatusCode);
        if (status != HttpStatusCode.OK)
            Assert.Equal("application/problem+json", answer.Content.Headers.ContentType?.MediaType);
    }

    [Fact]
    public async Task The_parts_say_whether_they_are_ready()
    {
        await using var server = await StartAsync();
        using var browser = server.Browser();

        Assert.Equal("Healthy", await browser.GetStringAsync(At("/health/live"), Cancel));
        using var ready = JsonDocument.Parse(await browser.GetStringAsync(At("/health/ready"), Cancel));

        Assert.Equal("Healthy", ready.RootElement.GetProperty("status").GetString());
        Assert.Equal(
            ["broker", "faults", "registry", "store", "weather"],
            ready.RootElement.GetProperty("parts").EnumerateObject().Select(p => p.Name).Order());
    }

    [Fact]
    public async Task The_description_says_that_numbers_are_numbers()
    {
        await using var server = await StartAsync();
        using var browser = server.Browser();

        using var json = JsonDocument.Parse(await browser.GetStringAsync(At("/openapi/v1.json"), Cancel));

        var latitude = json.RootElement.GetProperty("components").GetProperty("schemas")
            .GetProperty("SpotNowJson").GetProperty("properties").GetProperty("latitudeDegrees");
        Assert.Equal("number", latitude.GetProperty("type").GetString());
    }

    [Fact]
    public async Task The_routes_are_the_approved_ones()
    {
        await using var server = await StartAsync();
        var routes = server.Get<IEnumerable<EndpointDataSource>>().SelectMany(s => s.Endpoints).OfType<RouteEndpoint>()
            .Where(e => e.Metadata.GetMetadata<Microsoft.AspNetCore.StaticAssets.StaticAssetDescriptor>() is null)
            .SelectMany(e => (e.Metadata.GetMetadata<HttpMethodMetadata>()?.HttpMethods ?? ["ANY"])
                .Select(m => $"{m} /{e.RoutePattern.RawText?.TrimStart('/')}"))
            .Where(r => !r.Contains("_framework", StringComparison.Ordinal) && !r.Contains("_blazor", StringComparison.Ordinal))
            .Distinct().Order(StringComparer.Ordinal).ToArray();

        // To agree to a change, take the received file over.
        var folder = Path.Combine(AppContext.BaseDirectory, "Api");
        await File.WriteAllLinesAsync(Path.Combine(folder, "routes.received.txt"), routes, Cancel);
        Assert.Equal(await File.ReadAllLinesAsync(Path.Combine(folder, "routes.approved.txt"), Cancel), routes);
    }
}
