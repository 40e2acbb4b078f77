
namespace PavementWatch.Gateway.Checks;

internal static class ChecksServices
{
    /// <summary>The checks in the order they are told.</summary>
    public static IServiceCollection AddChecks(this IServiceCollection services)
    {
        services.AddSingleton<ICheck, ProbeCheck>();
        services.AddSingleton<ICheck, PanelCheck>();
        services.AddSingleton<ICheck, DiskCheck>();
        services.AddSingleton<ICheck, ClockCheck>();
        services.AddSingleton<ICheck, ServerCheck>();
        return services;
    }
}
