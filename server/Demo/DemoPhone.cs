using Microsoft.AspNetCore.Hosting.Server;
using Microsoft.AspNetCore.Hosting.Server.Features;
using PavementWatch.Server.Notifications;

namespace PavementWatch.Server.Demo;

/// <summary>Ines's phone and its push service, on this machine: opens what arrives, says it, and tells the server that it was shown.</summary>
internal sealed class DemoPhone : IAsyncDisposable
{
    private const string Device = "ines";
    private readonly WebApplication _service;

    private DemoPhone(WebApplication service) => _service = service;

    public static async Task<DemoPhone> StartAsync(
        Subscriptions subscriptions, Receipts receipts, int personId, TimeProvider time, Action<string> say, CancellationToken cancellationToken)
    {
        var builder = WebApplication.CreateEmptyBuilder(new WebApplicationOptions());
        builder.WebHost.UseKestrelCore().UseUrls("http://127.0.0.1:0");
        builder.Services.AddRoutingCore();
        var service = builder.Build();
        service.UseRouting();
        var receiver = new PushReceiver(async arrival =>
        {
            var message = PushMessageBody.Of(arrival.Text);
            say($"push to Ines: {message.Title}. {message.Body}");
            await receipts.ShownAsync(message.Id, cancellationToken);
            return StatusCodes.Status201Created;
        });
        receiver.Map(service);
        await service.StartAsync(cancellationToken);

        var (p256dh, auth) = receiver.Add(Device);
        var address = service.Services.GetRequiredService<IServer>().Features.Get<IServerAddressesFeature>()!.Addresses.Single();
        var faults = await subscriptions.AddAsync(
            personId, $"{address}/push/{Device}", p256dh, auth, [.. DemoTown.Spots.Select(spot => spot.Spot.Id.Value)],
            cancellationToken);
        if (faults.Count > 0)
            throw new InvalidOperationException($"the demo's phone was refused: {string.Join("; ", faults.SelectMany(fault => fault.Value))}");
        return new DemoPhone(service);
    }

    public async ValueTask DisposeAsync() => await _service.DisposeAsync();
}
