using System.Collections.Concurrent;
using System.Diagnostics;
using Microsoft.AspNetCore.Builder;
using Microsoft.AspNetCore.Hosting;
using Microsoft.AspNetCore.Hosting.Server;
using Microsoft.AspNetCore.Hosting.Server.Features;
using Microsoft.AspNetCore.Http;
using Microsoft.Extensions.DependencyInjection;
using PavementWatch.Server.Notifications.WebPush;

namespace PavementWatch.EndToEnd.Tests.Soak;

/// <summary>What a push service does to those who send.</summary>
internal enum PushTrouble
{
    None,

    /// <summary>Takes the message and never answers.</summary>
    Hangs,

    /// <summary>Answers 500.</summary>
    Fails,

    /// <summary>Answers 500 with a body that does not end.</summary>
    NeverEnds,
}

/// <summary>A message a phone got.</summary>
/// <param name="Id">Its name.</param>
/// <param name="At">When, by our own clock.</param>
internal sealed record Shown(Guid Id, TimeSpan At);

/// <summary>One walker's phone and its push service, which has troubles of its own.</summary>
internal sealed class SoakPhone : IAsyncDisposable
{
    public const string Device = "phone";

    /// <summary>How long a message is news.</summary>
    public static readonly TimeSpan NewsFor = TimeSpan.FromHours(4);

    private static readonly byte[] Noise = new byte[16 * 1024];

    private readonly Stopwatch _elapsed = Stopwatch.StartNew();
    private readonly PushReceiver _receiver;
    private readonly ConcurrentDictionary<Guid, DateTimeOffset> _firstAt = [];
    private WebApplication? _service;

    public SoakPhone() => _receiver = new PushReceiver(arrival =>
    {
        var body = PushMessageBody.Of(arrival.Text);
        foreach (var id in (Guid[])[body.Id, .. body.With ?? []])
        {
            // It says of nothing that it showed it: what it was told comes once more when that is no news any more, to take its own place.
            var first = _firstAt.GetOrAdd(id, body.At);
            if (!body.IsRepeat && (body.At - first).Duration() < NewsFor)
                Messages.Enqueue(new Shown(id, _elapsed.Elapsed));
        }

        return Task.FromResult(StatusCodes.Status201Created);
    });

    public ConcurrentQueue<Shown> Messages { get; } = new();

    /// <summary>What the business was told, where the town is told to tell it.</summary>
    public ConcurrentQueue<string> Notices { get; } = new();

    /// <summary>What goes on now.</summary>
    public volatile PushTrouble Trouble;

    public TimeSpan Now => _elapsed.Elapsed;

    /// <summary>Where its push service is.</summary>
    public string Origin { get; private set; } = "";

    public string Endpoint => $"{Origin}/push/{Device}";

    public (string P256dh, string Auth) Keys => _receiver.Add(Device);

    public async Task StartAsync()
    {
        var builder = WebApplication.CreateEmptyBuilder(new WebApplicationOptions());
        builder.WebHost.UseKestrelCore().UseUrls("http://127.0.0.1:0");
        builder.Services.AddRoutingCore();
        _service = builder.Build();
        _service.Use(Disturb);
        _service.UseRouting();
        _receiver.Map(_service);
        _service.MapPost("/business", async (HttpContext context) =>
        {
            using var body = new StreamReader(context.Request.Body);
            Notices.Enqueue(await body.ReadToEndAsync(context.RequestAborted));
        });
        await _service.StartAsync();
        Origin = _service.Services.GetRequiredService<IServer>().Features.Get<IServerAddressesFeature>()!.Addresses.Single();
    }

    public async ValueTask DisposeAsync()
    {
        Trouble = PushTrouble.Fails;
        if (_service is not null)
            await _service.DisposeAsync();
    }

    private async Task Disturb(HttpContext context, RequestDelegate next)
    {
        try
        {
            switch (Trouble)
            {
                case PushTrouble.Hangs:
                    while (Trouble == PushTrouble.Hangs)
                        await Task.Delay(50, context.RequestAborted);
                    context.Abort();
                    break;
                case PushTrouble.Fails:
                    context.Response.StatusCode = StatusCodes.Status500InternalServerError;
                    break;
                case PushTrouble.NeverEnds:
                    context.Response.StatusCode = StatusCodes.Status500InternalServerError;
                    while (Trouble == PushTrouble.NeverEnds)
                        await context.Response.Body.WriteAsync(Noise, context.RequestAborted);
                    context.Abort();
                    break;
                default:
                    await next(context);
                    break;
            }
        }
        catch (Exception gone) when (gone is OperationCanceledException or IOException)
        {
            // Whoever sent has had enough.
        }
    }
}
