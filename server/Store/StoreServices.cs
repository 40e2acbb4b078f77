using Microsoft.Extensions.Options;

namespace PavementWatch.Server.Store;

/// <summary>Puts the reading store into the host.</summary>
internal static class StoreServices
{
    /// <summary>Adds the <see cref="IReadingStore"/> that section <c>Store</c> names.</summary>
    public static IServiceCollection AddStore(this IServiceCollection services)
    {
        services.AddOptions<StoreOptions>()
            .BindConfiguration("Store", binder => binder.ErrorOnUnknownConfiguration = true)
            .ValidateOnStart();
        services.AddSingleton<IValidateOptions<StoreOptions>, StoreOptionsValidator>();
        services.AddSingleton<IReadingStore>(provider =>
        {
            var options = provider.GetRequiredService<IOptions<StoreOptions>>().Value;
            return options.Kind switch
            {
                StoreKind.InfluxDb => new InfluxReadingStore(options),
                _ => new SqliteReadingStore(options),
            };
        });
        return services;
    }
}
