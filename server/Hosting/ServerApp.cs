using Microsoft.Extensions.Options;
using PavementWatch.Dashboards.Hosting;
using PavementWatch.Server.Access;
using PavementWatch.Server.Analyst;
using PavementWatch.Server.Api;
using PavementWatch.Server.Broker;
using PavementWatch.Server.Checks;
using PavementWatch.Server.Database;
using PavementWatch.Server.Days;
using PavementWatch.Server.Estimates;
using PavementWatch.Server.Faults;
using PavementWatch.Server.Fitting;
using PavementWatch.Server.Gateways;
using PavementWatch.Server.Ingest;
using PavementWatch.Server.Notifications;
using PavementWatch.Server.People;
using PavementWatch.Server.Positions;
using PavementWatch.Server.Privacy;
using PavementWatch.Server.Setup;
using PavementWatch.Server.Spots;
using PavementWatch.Server.Store;
using PavementWatch.Server.Walks;
using PavementWatch.Server.Watch;
using PavementWatch.Server.Weather;

namespace PavementWatch.Server.Hosting;

/// <summary>What a server is built from, beside its settings.</summary>
internal sealed record ServerAppOptions
{
    /// <summary>Command line of settings, <c>--Section:Key=value</c>.</summary>
    public IReadOnlyList<string> Args { get; init; } = [];

    /// <summary>Settings of the caller; they win over the files and the environment.</summary>
    public IReadOnlyDictionary<string, string?> Settings { get; init; } = new Dictionary<string, string?>();

    /// <summary>The spots' clock.</summary>
    public TimeProvider Time { get; init; } = TimeProvider.System;

    /// <summary>The people's clock; see <see cref="Clocks"/>.</summary>
    public TimeProvider PeopleTime { get; init; } = TimeProvider.System;

    /// <summary>Data folder; <c>null</c> takes the setting <c>Data:Folder</c>.</summary>
    public string? DataFolder { get; init; }

    /// <summary>Address of the pages; <c>null</c> takes the setting <c>Urls</c>. Port 0 takes a free one.</summary>
    public string? Url { get; init; }

    /// <summary>Services that come on top or take another's place.</summary>
    public Action<IServiceCollection>? Services { get; init; }
}

/// <summary>Puts the server together. What is started with it: see the list in <see cref="Build"/>.</summary>
internal static class ServerApp
{
    public static WebApplication Build(ServerAppOptions options)
    {
        var builder = WebApplication.CreateBuilder(new WebApplicationOptions
        {
            Args = [.. options.Args],
            ApplicationName = typeof(ServerApp).Assembly.GetName().Name,
            ContentRootPath = ContentRoot.Path,
        });
        builder.Configuration.AddInMemoryCollection(SettingsOf(options));
        SettingsCheck.Run(builder.Configuration);
        PutReadingsIntoDataFolder(builder);
        // A start that fails throws, and whoever started it says why in a sentence; the host's own word is a stack of calls.
        var isStarted = false;
        foreach (var category in new[] { "Microsoft.Extensions.Hosting.Internal.Host", "Microsoft.AspNetCore.Server.Kestrel" })
            builder.Logging.AddFilter(category, level => level >= LogLevel.Information && (isStarted || level < LogLevel.Error));
        // Without this a server run from its build folder outside Development answers static files empty.
        builder.WebHost.UseStaticWebAssets();
        builder.WebHost.ConfigureKestrel(k =>
        {
            k.AddServerHeader = false;
            k.Limits.MaxRequestBodySize = 64 * 1024;
            var broker = k.ApplicationServices.GetRequiredService<IOptions<BrokerOptions>>().Value;
            if (EnrolmentNote.PagesShowOwn(broker, builder.Configuration))
            {
                var own = k.ApplicationServices.GetRequiredService<OwnAuthority>();
                k.ConfigureHttpsDefaults(https => https.ServerCertificateSelector = (_, _) => own.Certificate);
            }
        });

        builder.Services.AddSingleton(options.Time);
        builder.Services.AddKeyedSingleton(Clocks.People, options.PeopleTime);
        builder.Services
            .AddFaults()
            .AddDatabase()
            .AddSpots()
            .AddStore()
            .AddIngest()
            .AddWeather()
            .AddFitting()
            .AddEstimates()
            .AddAnalyst()
            .AddPositions()
            .AddNotifications()
            .AddWatch()
            .AddDays()
            .AddWalks()
            .AddChecks()
            .AddBroker()
            .AddGateways()
            .AddSetup()
            .AddPeople()
            .AddPrivacy()
            .AddAccess()
            .AddApi()
            .AddDashboards();
        options.Services?.Invoke(builder.Services);

        var app = builder.Build();
        app.Lifetime.ApplicationStarted.Register(() => isStarted = true);
        app.UseProxies();
        app.UseExceptionHandler();
        app.UseWordsForEmptyAnswers();
        app.UseSecurityHeaders();
        app.UseRouting();
        app.UseAuthentication();
        app.UseRateLimiter();
        app.UseAuthorization();
        app.UseUploadLimits();
        app.UseAntiforgery();
        app.MapDoors();
        app.MapPasskeys();
        app.MapApi();
        app.MapEnrolment();
        app.MapDashboards();
        return app;
    }

    private static Dictionary<string, string?> SettingsOf(ServerAppOptions options)
    {
        var settings = new Dictionary<string, string?>(options.Settings, StringComparer.OrdinalIgnoreCase);
        if (options.DataFolder is { } folder)
            settings["Data:Folder"] = Path.GetFullPath(folder);
        if (options.Url is { } url)
            settings["Urls"] = url;
        return settings;
    }

    // One folder holds all there is to back up, unless the settings name another place.
    private static void PutReadingsIntoDataFolder(WebApplicationBuilder builder)
    {
        if (builder.Configuration["Store:Path"] is not null)
            return;
        var folder = Path.GetFullPath(
            builder.Configuration["Data:Folder"] ?? new DataOptions().Folder, builder.Environment.ContentRootPath);
        builder.Configuration["Store:Path"] = Path.Combine(folder, "readings.sqlite");
    }
}
