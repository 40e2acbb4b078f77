using System.Net;
using Microsoft.AspNetCore.HostFiltering;
using Microsoft.AspNetCore.HttpOverrides;
using Microsoft.Extensions.Options;
using IPNetwork = System.Net.IPNetwork;

namespace PavementWatch.Server.Access;

/// <summary>Whose word counts for where a request came from, and under which names this server answers.</summary>
internal static class ForwardedAddresses
{
    // Half a year: browsers then come by https only, and a business that gives https up is not locked out for years.
    private const string StrictTransport = "max-age=15768000";

    /// <summary>An address or network as settings write it; <c>null</c> when it is neither.</summary>
    public static IPNetwork? Network(string text) =>
        IPNetwork.TryParse(text, out var network) ? network
        : IPAddress.TryParse(text, out var address) ? new IPNetwork(address, address.GetAddressBytes().Length * 8)
        : null;

    public static IServiceCollection AddProxies(this IServiceCollection services)
    {
        services.AddSingleton<KnownHosts>();
        services.AddOptions<ForwardedHeadersOptions>().Configure<IOptions<AccessOptions>>((o, access) =>
        {
            o.KnownProxies.Clear();
            o.KnownIPNetworks.Clear();
            foreach (var proxy in access.Value.TrustedProxies)
                o.KnownIPNetworks.Add(Network(proxy)!.Value);
            // Without a known network the middleware would believe everybody.
            o.ForwardedHeaders = o.KnownIPNetworks.Count > 0 ? ForwardedHeaders.XForwardedFor | ForwardedHeaders.XForwardedProto : ForwardedHeaders.None;
            o.ForwardLimit = null;
        });
        // The host's own filter knows no addresses of this machine; KnownHosts takes its place.
        services.Configure<HostFilteringOptions>(o => o.AllowedHosts = ["*"]);
        services.AddOptions<CookiePolicyOptions>().Configure<PublicAddress>((o, address) =>
            o.Secure = address.IsHttps ? CookieSecurePolicy.Always : CookieSecurePolicy.SameAsRequest);
        return services;
    }

    /// <summary>Before everything else: what a proxy says, then whether the request is meant for this server at all.</summary>
    public static void UseProxies(this IApplicationBuilder app)
    {
        app.UseForwardedHeaders();
        var (hosts, address) = (app.ApplicationServices.GetRequiredService<KnownHosts>(), app.ApplicationServices.GetRequiredService<PublicAddress>());
        app.Use(async (http, next) =>
        {
            if (!hosts.Knows(http))
            {
                await Results.Problem(
                    statusCode: StatusCodes.Status400BadRequest,
                    title: "Not this server",
                    detail: "The request names no host, or one that is not this server's. Open the address you were given; whoever runs the server sets it as Access:PublicUrl, further names as AllowedHosts.")
                    .ExecuteAsync(http);
                return;
            }

            if (address.IsHttps)
                http.Response.Headers.StrictTransportSecurity = StrictTransport;
            await next(http);
        });
        app.UseCookiePolicy();
    }
}
