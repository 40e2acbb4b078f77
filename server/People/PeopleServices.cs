using PavementWatch.Dashboards.People;

namespace PavementWatch.Server.People;

/// <summary>The people who sign in.</summary>
internal static class PeopleServices
{
    public static IServiceCollection AddPeople(this IServiceCollection services)
    {
        services.AddSingleton<Sessions>();
        services.AddSingleton<LiveStreams>();
        services.AddHostedService(provider => provider.GetRequiredService<LiveStreams>());
        services.AddSingleton<PersonStore>();
        services.AddSingleton<SetUpLink>();
        services.AddSingleton<IPeopleSetup, PeopleSetup>();
        return services;
    }
}
