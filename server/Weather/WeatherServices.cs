namespace PavementWatch.Server.Weather;

/// <summary>Weather that spots' own probes do not measure: its ways in and where it is kept.</summary>
internal static class WeatherServices
{
    public static IServiceCollection AddWeather(this IServiceCollection services)
    {
        services.AddSingleton<WeatherBook>();
        services.AddSingleton<WeatherDoor>();
        return services;
    }
}
