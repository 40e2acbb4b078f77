using Microsoft.AspNetCore.Hosting.Server;
using Microsoft.AspNetCore.Hosting.Server.Features;
using PavementWatch.Server.Notifications;
using PavementWatch.Server.Notifications.WebPush;

namespace PavementWatch.Server.Demo;

/// <summary>Ines's phone and its push service, on this machine: opens what arrives, says it, and tells the server that it was shown.</summary>
internal sealed class DemoPhone : IAsyncDisposable
{
    private const string Device = "ines";
    private readonly WebApplication _service;
    private readonly PushReceiver _receiver;
    private readonly Action<string> _say;
    private Receipts? _receipts;

    private DemoPhone(Action<string> say)
    {
        _say = say;
        var builder = WebApplication.CreateEmptyBuilder(new WebApplicationOptions());
        builder.WebHost.UseKestrelCore().UseUrls("http://127.0.0.1:0");
        builder.Services.AddRoutingCore();
        _service = builder.Build();
        _service.UseRouting();
        _receiver = new PushReceiver(ShowAsync);
        _receiver.Map(_service);
    }

    /// <summary>Where the push service takes messages, the only address of this machine that the demo's server sends pushes to.</summary>
    public string Origin => _service.Services.GetRequiredService<IServer>().Features.Get<IServerAddressesFeature>()!.Addresses.Single();

    public static async Task<DemoPhone> StartAsync(Action<string> say, CancellationToken cancellationToken)
    {
        var phone = new DemoPhone(say);
        await phone._service.StartAsync(cancellationToken);
        return phone;
    }

    /// <summary>Asks the server for the alerts of all spots.</summary>
    public async Task SubscribeAsync(Subscriptions subscriptions, Receipts receipts, int personId, CancellationToken cancellationToken)
    {
        _receipts = receipts;
        var (p256dh, auth) = _receiver.Add(Device);
        var faults = await subscriptions.AddAsync(
            personId, $"{Origin}/push/{Device}", p256dh, auth, [.. DemoTown.Spots.Select(spot => spot.Spot.Id.Value)],
            cancellationToken);
        if (faults.Count > 0)
            throw new InvalidOperationException($"the demo's phone was refused: {string.Join("; ", faults.SelectMany(fault => fault.Value))}");
    }

    private async Task<int> ShowAsync(PushArrival arrival)
    {
        var message = PushMessageBody.Of(arrival.Text);
        _say($"push to Ines: {message.Title}. {message.Body.Replace('\n', ' ')}");
        foreach (var id in message.Told())
            await _receipts!.ShownAsync(id, CancellationToken.None);
        return StatusCodes.Status201Created;
    }

    public async ValueTask DisposeAsync() => await _service.DisposeAsync();
}
