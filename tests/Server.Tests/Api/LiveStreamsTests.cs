using System.Net;
using System.Net.ServerSentEvents;
using PavementWatch.Tests;
using static PavementWatch.Server.Tests.Api.RunningServer;

namespace PavementWatch.Server.Tests.Api;

public sealed class LiveStreamsTests
{
    private static CancellationToken Cancel => TestContext.Current.CancellationToken;

    [Fact]
    public async Task A_person_has_five_streams_and_the_oldest_makes_room()
    {
        await using var server = await StartAsync();
        using var ines = await server.BrowserOfAsync(Role.Walker, "Ines");
        using var tobias = await server.BrowserOfAsync(Role.Walker, "Tobias");
        await using var others = await OpenAsync(tobias);
        var streams = new List<LiveReader>();
        for (var i = 0; i < 7; i++)
            streams.Add(await OpenAsync(ines));

        // Five stay. The two oldest are told why they end, so that their pages do not push out the others in turn.
        foreach (var old in streams.Take(2))
            Assert.Equal("elsewhere", await old.LastEventAsync().WaitAsync(Patience.Span, Cancel));
        await server.MeasureAsync(Good(NorthGate, Noon, 47.25));
        foreach (var open in streams.Skip(2).Append(others))
            Assert.True(await open.HearsAsync("47.25"));
        foreach (var stream in streams)
            await stream.DisposeAsync();
    }

    private static async Task<LiveReader> OpenAsync(HttpClient browser)
    {
        var answer = await browser.GetAsync(new Uri("/api/live", UriKind.Relative), HttpCompletionOption.ResponseHeadersRead, Cancel);
        Assert.Equal(HttpStatusCode.OK, answer.StatusCode);
        var reader = new LiveReader(answer, await answer.Content.ReadAsStreamAsync(Cancel));
        Assert.Equal("snapshot", await reader.NextEventAsync());
        return reader;
    }

    private sealed class LiveReader(HttpResponseMessage answer, Stream stream) : IAsyncDisposable
    {
        private readonly IAsyncEnumerator<SseItem<string>> _events = SseParser.Create(stream).EnumerateAsync(Cancel).GetAsyncEnumerator(Cancel);

        public async Task<string?> NextEventAsync() => await _events.MoveNextAsync() ? _events.Current.EventType : null;

        /// <summary>The type of the last event before the stream ended.</summary>
        public async Task<string?> LastEventAsync()
        {
            var last = default(string);
            while (await NextEventAsync() is { } next)
                last = next;
            return last;
        }

        public async Task<bool> HearsAsync(string text)
        {
            while (await _events.MoveNextAsync())
            {
                if (_events.Current.Data.Contains(text, StringComparison.Ordinal))
                    return true;
            }

            return false;
        }

        public async ValueTask DisposeAsync()
        {
            await _events.DisposeAsync();
            await stream.DisposeAsync();
            answer.Dispose();
        }
    }
}
