using Microsoft.AspNetCore.Builder;
using Microsoft.AspNetCore.Hosting;
using Microsoft.Extensions.DependencyInjection;
using Microsoft.Extensions.DependencyInjection.Extensions;

namespace PavementWatch.Dashboards.Hosting;

/// <summary>Puts the pages into a host.</summary>
public static class DashboardHosting
{
    /// <summary>
    /// Adds what the pages need, except <see cref="ISpotBoard"/> and <see cref="ISpotDays"/>, which the host brings; and
    /// <see cref="IOwnerLinks"/> and <see cref="IGatewayBoard"/>, which it may.
    /// </summary>
    public static IServiceCollection AddDashboards(this IServiceCollection services)
    {
        ArgumentNullException.ThrowIfNull(services);
        services.AddRazorComponents();
        services.AddAntiforgery();
        services.AddSingleton<AssetVersion>();
        services.AddSingleton<IStartupFilter, SecurityHeaders>();
        services.TryAddSingleton(TimeProvider.System);
        services.TryAddSingleton<IOwnerLinks, NoOwnerLinks>();
        services.TryAddSingleton<IGatewayBoard, NoGateways>();
        return services;
    }

    /// <summary>Maps pages, scripts, styles and pictures. Call it after <c>UseAuthentication</c> and <c>UseAuthorization</c>.</summary>
    public static RazorComponentsEndpointConventionBuilder MapDashboards(this WebApplication app)
    {
        ArgumentNullException.ThrowIfNull(app);
        app.UseAntiforgery();
        app.MapStaticAssets();
        return app.MapRazorComponents<App>();
    }
}
