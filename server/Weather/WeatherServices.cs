using Microsoft.Extensions.Options;

namespace PavementWatch.Server.Weather;

/// <summary>Weather that spots' own probes do not measure: its ways in and where it is kept.</summary>
internal static class WeatherServices
{
    public static IServiceCollection AddWeather(this IServiceCollection services)
    {
        services.AddOptions<WeatherOptions>()
            .BindConfiguration("Weather", b => b.ErrorOnUnknownConfiguration = true)
            .ValidateOnStart();
        services.AddSingleton<IValidateOptions<WeatherOptions>, WeatherOptionsValidator>();
        services.AddSingleton<IValidateOptions<WeatherOptions>, WeatherAddressValidator>();
        services.AddSingleton<WeatherStore>();
        services.AddSingleton<SiteWeather>();
        services.AddSingleton<WeatherIntake>();
        services.AddSingleton<ForecastWatch>();
        services.AddHostedService(provider => provider.GetRequiredService<ForecastWatch>());
        services.AddSingleton<SunFaults>();
        services.AddHostedService(provider => provider.GetRequiredService<SunFaults>());
        services.AddHealthChecks().AddCheck<ForecastWatch>("weather");
        return services;
    }
}
