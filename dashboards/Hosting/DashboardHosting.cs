using Microsoft.AspNetCore.Builder;
using Microsoft.AspNetCore.Http;
using Microsoft.AspNetCore.Routing;
using Microsoft.Extensions.DependencyInjection;
using Microsoft.Extensions.DependencyInjection.Extensions;
using PavementWatch.Dashboards.Checks;
using PavementWatch.Dashboards.Days;
using PavementWatch.Dashboards.Faults;
using PavementWatch.Dashboards.Gateways;
using PavementWatch.Dashboards.People;
using PavementWatch.Dashboards.Setup;
using PavementWatch.Dashboards.Spots;
using PavementWatch.Dashboards.Walks;

namespace PavementWatch.Dashboards.Hosting;

/// <summary>Puts the pages into a host.</summary>
public static class DashboardHosting
{
    /// <summary>
    /// Adds what the pages need, except <see cref="ISpotBoard"/> and <see cref="ISpotDays"/>, which the host brings; and
    /// <see cref="IOwnerLinks"/>, <see cref="IVisitorWalkQuery"/>, <see cref="IVisitorAlerts"/>, <see cref="IGatewayBoard"/>, <see cref="IStandingFaults"/>, <see cref="ISetup"/>, <see cref="IPeopleSetup"/> and <see cref="IProbeReview"/>, which it may.
    /// </summary>
    public static IServiceCollection AddDashboards(this IServiceCollection services)
    {
        ArgumentNullException.ThrowIfNull(services);
        services.AddRazorComponents();
        services.AddSingleton<PageAssets>();
        services.TryAddSingleton(TimeProvider.System);
        services.TryAddSingleton<IOwnerLinks, NoOwnerLinks>();
        services.TryAddSingleton<IVisitorWalkQuery, NoVisitorWalkQuery>();
        services.TryAddSingleton<IVisitorAlerts, NoVisitorAlerts>();
        services.TryAddSingleton<IGatewayBoard, NoGateways>();
        services.TryAddSingleton<IStandingFaults, NoFaults>();
        services.TryAddSingleton<ISetup, NoSetup>();
        services.TryAddSingleton<IPeopleSetup, NoPeople>();
        services.TryAddSingleton<IProbeReview, NoProbeReview>();
        return services;
    }

    /// <summary>
    /// Maps pages, scripts, styles and pictures. The host calls <c>UseAuthentication</c>, <c>UseAuthorization</c> and
    /// <c>UseAntiforgery</c> before, and sends a content security policy: <c>default-src 'self'; img-src 'self' data:</c>,
    /// with <see cref="PageAssets.ScriptSources"/>.
    /// </summary>
    public static RazorComponentsEndpointConventionBuilder MapDashboards(this IEndpointRouteBuilder routes)
    {
        ArgumentNullException.ThrowIfNull(routes);
        routes.MapStaticAssets();
        // No list by hand: one name in it that is no more would keep the service worker, so alerts too, off every phone.
        routes.MapGet("/kept-files.json", (PageAssets assets, HttpContext context) =>
        {
            context.Response.Headers.CacheControl = "no-store";
            return assets.Kept;
        }).AllowAnonymous().ExcludeFromDescription();
        return routes.MapRazorComponents<App>();
    }
}
