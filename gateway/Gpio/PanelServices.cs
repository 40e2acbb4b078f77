using Microsoft.Extensions.Options;

namespace PavementWatch.Gateway.Gpio;

/// <summary>Enters the panel into the host.</summary>
internal static class PanelServices
{
    /// <summary>Settings <c>Panel</c>, the lamp and the button.</summary>
    public static IServiceCollection AddPanel(this IServiceCollection services)
    {
        services.AddOptions<PanelOptions>()
            .BindConfiguration("Panel", b => b.ErrorOnUnknownConfiguration = true)
            .ValidateOnStart();
        services.AddSingleton<IValidateOptions<PanelOptions>, PanelOptionsValidator>();
        services.AddHostedService<Panel>();
        return services;
    }
}
