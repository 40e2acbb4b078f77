using System.Security.Cryptography;
using Microsoft.AspNetCore.Hosting.Server;
using Microsoft.AspNetCore.Hosting.Server.Features;
using PavementWatch.Gateway.Clock;
using PavementWatch.Server.Broker;
using PavementWatch.Server.Database;
using PavementWatch.Server.Fitting;
using PavementWatch.Server.Hosting;
using PavementWatch.Server.Notifications;
using PavementWatch.Server.Notifications.WebPush;
using PavementWatch.Server.People;

namespace PavementWatch.Server.Demo;

/// <summary>How the demo is to run.</summary>
/// <param name="Speed">Its seconds in one of ours.</param>
/// <param name="Port">Port of the pages; 0 takes a free one.</param>
/// <param name="KeepFolder">Where its data stay afterwards; <c>null</c> takes a temporary folder and removes it.</param>
internal sealed record DemoOptions(double Speed, int Port, string? KeepFolder)
{
    /// <summary>Which day.</summary>
    public DemoDay Day { get; init; } = DemoDay.Summer;
}

/// <summary>The whole product on one machine: server, broker, gateways on simulated buses, a phone, in an invented town.</summary>
internal sealed class DemoRun : IAsyncDisposable
{
    private readonly Stack<IAsyncDisposable> _parts = new();
    private readonly string _folder;
    private readonly bool _keep;
    private DemoPeople? _people;

    private DemoRun(string folder, bool keep) => (_folder, _keep) = (folder, keep);

    /// <summary>Address of the pages.</summary>
    public string Address { get; private set; } = "";

    /// <summary>The links to print, in order: who, then where.</summary>
    public IReadOnlyList<(string Who, string Link)> Links { get; private set; } = [];

    /// <summary>The running server.</summary>
    public WebApplication Server { get; private set; } = null!;

    /// <summary>The demo's clock.</summary>
    public AcceleratedTimeProvider Time { get; private set; } = null!;

    /// <summary>Starts everything; it is running when this returns.</summary>
    /// <param name="options">How.</param>
    /// <param name="say">Told what happens, with the town's time before it.</param>
    /// <param name="cancellationToken">Ends the start.</param>
    public static async Task<DemoRun> StartAsync(DemoOptions options, Action<string> say, CancellationToken cancellationToken)
    {
        var folder = options.KeepFolder ?? Directory.CreateTempSubdirectory("pavementwatch-demo-").FullName;
        if (options.KeepFolder is not null && Directory.Exists(folder) && Directory.EnumerateFileSystemEntries(folder).Any())
            throw new IOException($"--keep names '{folder}', which is not empty; name an empty or a new folder");
        PrivateFiles.Own(folder);
        var run = new DemoRun(folder, options.KeepFolder is not null);
        try
        {
            await run.StartPartsAsync(options, say, cancellationToken);
            return run;
        }
        catch
        {
            await run.DisposeAsync();
            throw;
        }
    }

    /// <summary>Where the demo's data are while it runs.</summary>
    public string Folder => _folder;

    /// <summary>One more link for somebody in <see cref="Links"/>: those that sign in do so once.</summary>
    public async Task<string> NewLinkAsync(string who, CancellationToken cancellationToken)
    {
        var people = Server.Services.GetRequiredService<PersonStore>();
        return _people!.NumberOf(who) is { } person
            ? $"{Address}/enter/{await people.NewSignInTokenAsync(person, cancellationToken)}"
            : $"{Address}/o/{await people.NewOwnerTokenAsync(_people.PickleId, TimeSpan.FromDays(1), cancellationToken)}";
    }

    public async ValueTask DisposeAsync()
    {
        while (_parts.TryPop(out var part))
            await part.DisposeAsync();
        Time?.Dispose();
        for (var tries = 1; !_keep && Directory.Exists(_folder); tries++)
        {
            try
            {
                Directory.Delete(_folder, recursive: true);
            }
            catch (IOException) when (tries < 50)
            {
                // A connection of the pool that closes just now lays its log down beside its file once more.
                await Task.Delay(TimeSpan.FromMilliseconds(100), TimeProvider.System, CancellationToken.None);
            }
        }
    }

    private async Task StartPartsAsync(DemoOptions options, Action<string> say, CancellationToken cancellationToken)
    {
        // History is made before the clock starts, so that the morning begins when everything runs.
        var ground = new DemoGround(options.Day, DemoTown.Spots, options.Day.Morning.AddDays(-DemoTown.PastDays));
        Time = new AcceleratedTimeProvider(options.Day.Morning, options.Speed);
        void Say(string text) => say($"{TimeZoneInfo.ConvertTime(Time.GetUtcNow(), TimeZoneInfo.FindSystemTimeZoneById(DemoTown.TimeZone)):HH:mm}  {text}");
        var phone = await DemoPhone.StartAsync(Say, cancellationToken);
        _parts.Push(phone);
        Server = ServerApp.Build(new ServerAppOptions
        {
            Time = Time,
            DataFolder = _folder,
            Url = options.Port == 0 ? "http://127.0.0.1:0" : $"http://localhost:{options.Port}",
            Settings = new Dictionary<string, string?>
            {
                ["Broker:Port"] = "0",
                ["Notifications:LoopbackOrigins:0"] = phone.Origin,
                // Minutes of the town pass in fractions of a second; a phone is not that quick.
                ["Notifications:Business:After"] = "00:30:00",
                // Three minutes of the town are a third of a second of ours, and what travels by network may take that long.
                ["Watch:SilentIntervals"] = "8",
                ["Logging:LogLevel:Default"] = "Warning",
                ["Logging:LogLevel:Microsoft.Hosting.Lifetime"] = "Warning",
            },
        });
        _parts.Push(new Stopping(Server));
        var services = Server.Services;
        var secrets = DemoTown.Gateways.ToDictionary(gateway => gateway, _ => RandomNumberGenerator.GetHexString(32));
        var people = await ActivatorUtilities.CreateInstance<DemoSeed>(services).FillAsync(options.Day, ground, secrets, cancellationToken);
        await services.GetRequiredService<FitRunner>().RunAsync(null, null, cancellationToken);

        Time.Start();
        await Server.StartAsync(cancellationToken);
        Address = services.GetRequiredService<IServer>().Features.Get<IServerAddressesFeature>()!.Addresses.First();
        await phone.SubscribeAsync(services.GetRequiredService<Subscriptions>(), services.GetRequiredService<Receipts>(), people.InesId, cancellationToken);
        _parts.Push(await DemoGateways.StartAsync(
            options.Day, ground, services.GetRequiredService<IBroker>().Port, _folder, secrets, Time, Say, cancellationToken));
        _people = people;
        Links = [.. await Task.WhenAll(DemoPeople.Names.Select(async who => (who, await NewLinkAsync(who, cancellationToken))))];
    }

    /// <summary>A server that is told to stop before it is taken apart; also one whose start failed half-way.</summary>
    private sealed class Stopping(WebApplication server) : IAsyncDisposable
    {
        public async ValueTask DisposeAsync()
        {
            await server.StopAsync();
            await server.DisposeAsync();
        }
    }
}
