using Microsoft.AspNetCore.Hosting.Server;
using Microsoft.AspNetCore.Http.Features;
using PavementWatch.Dashboards.Hosting;

namespace PavementWatch.Server.Access;

/// <summary>
/// Takes the secrets of links out of requests' addresses before anything else sees them: whatever is logged, traced or put
/// into a scope, at whatever level, says <c>/enter/-</c>. Handlers find the secret as <see cref="LinkSecret"/>.
/// </summary>
internal static class LinkSecrets
{
    /// <summary>What stands in the secret's place.</summary>
    public const string Placeholder = "-";

    /// <summary>What secrets stand behind.</summary>
    private static readonly string[] Places = ["/enter/", "/set-up/", "/o/"];

    /// <summary>Lets every request pass here first.</summary>
    public static void HideLinkSecrets(this IServiceCollection services)
    {
        var server = services.Last(s => s.ServiceType == typeof(IServer));
        services.Remove(server);
        services.AddSingleton<IServer>(provider => new HidingServer((IServer)(
            server.ImplementationInstance
            ?? server.ImplementationFactory?.Invoke(provider)
            ?? ActivatorUtilities.CreateInstance(provider, server.ImplementationType!))));
    }

    /// <summary>The secret of the link that was opened; empty where there is none.</summary>
    public static string Of(HttpContext http) => http.Features.Get<LinkSecret>()?.Token ?? "";

    /// <summary>Hides what stands behind the places of secrets.</summary>
    internal static void Hide(IFeatureCollection features)
    {
        if (features.Get<IHttpRequestFeature>() is not { Path: { } path } request)
            return;
        // Whoever types one slash too many shall not have the secret logged either.
        var trimmed = "/" + path.TrimStart('/');
        if (Array.Find(Places, p => trimmed.StartsWith(p, StringComparison.OrdinalIgnoreCase)) is not { } place || trimmed.Length == place.Length)
            return;
        features.Set(new LinkSecret(trimmed[place.Length..], trimmed));
        request.Path = place + Placeholder;
        request.RawTarget = request.Path + request.QueryString;
    }

    private sealed class HidingServer(IServer inner) : IServer
    {
        public IFeatureCollection Features => inner.Features;

        public Task StartAsync<TContext>(IHttpApplication<TContext> application, CancellationToken cancellationToken)
            where TContext : notnull => inner.StartAsync(new Application<TContext>(application), cancellationToken);

        public Task StopAsync(CancellationToken cancellationToken) => inner.StopAsync(cancellationToken);

        public void Dispose() => inner.Dispose();
    }

    private sealed class Application<TContext>(IHttpApplication<TContext> inner) : IHttpApplication<TContext>
        where TContext : notnull
    {
        public TContext CreateContext(IFeatureCollection contextFeatures)
        {
            Hide(contextFeatures);
            return inner.CreateContext(contextFeatures);
        }

        public Task ProcessRequestAsync(TContext context) => inner.ProcessRequestAsync(context);

        public void DisposeContext(TContext context, Exception? exception) => inner.DisposeContext(context, exception);
    }
}
