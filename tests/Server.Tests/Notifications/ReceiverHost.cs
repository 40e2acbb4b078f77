using System.Threading.Channels;
using Microsoft.AspNetCore.Builder;
using Microsoft.AspNetCore.Hosting;
using Microsoft.Extensions.Logging;
using PavementWatch.Server.Notifications.WebPush;
using PavementWatch.Tests;

namespace PavementWatch.Server.Tests.Notifications;

/// <summary>A push service on a free loopback port.</summary>
internal sealed class ReceiverHost : IAsyncDisposable
{
    private readonly Channel<PushArrival> _arrivals = Channel.CreateUnbounded<PushArrival>();
    private readonly WebApplication _app;
    private readonly Queue<int> _answers = [];

    private ReceiverHost()
    {
        Receiver = new PushReceiver(arrival => Task.FromResult(Take(arrival)));
        var builder = WebApplication.CreateSlimBuilder();
        builder.WebHost.UseUrls("http://127.0.0.1:0");
        builder.Logging.ClearProviders();
        _app = builder.Build();
        Receiver.Map(_app);
    }

    public PushReceiver Receiver { get; }

    public static async Task<ReceiverHost> StartAsync()
    {
        var host = new ReceiverHost();
        await host._app.StartAsync(TestContext.Current.CancellationToken);
        return host;
    }

    /// <summary>The setting by which a server sends pushes here.</summary>
    public Dictionary<string, string?> AsAllowed => new() { ["Notifications:LoopbackOrigins:0"] = _app.Urls.Single() };

    /// <summary>Where set, the answer of all arrivals.</summary>
    public int? AnswerAllWith { get; set; }

    public string Endpoint(string device) => $"{_app.Urls.Single()}/push/{device}";

    /// <summary>Answers of the next arrivals; after them 201.</summary>
    public void AnswerNextWith(params int[] statuses)
    {
        lock (_answers)
        {
            foreach (var status in statuses)
                _answers.Enqueue(status);
        }
    }

    /// <summary>The next arrival, once there is one.</summary>
    public Task<PushArrival> NextAsync() => _arrivals.NextAsync();

    public bool IsQuiet => _arrivals.Reader.Count == 0;

    public ValueTask DisposeAsync() => _app.DisposeAsync();

    private int Take(PushArrival arrival)
    {
        lock (_answers)
        {
            _arrivals.Writer.TryWrite(arrival);
            return AnswerAllWith ?? (_answers.TryDequeue(out var status) ? status : 201);
        }
    }
}
