namespace PavementWatch.Server.Privacy;

/// <summary>What is kept of people: given to them, or erased.</summary>
internal static class PrivacyServices
{
    public static IServiceCollection AddPrivacy(this IServiceCollection services)
    {
        services.AddSingleton<PersonalData>();
        return services;
    }
}
