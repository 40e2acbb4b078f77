using Microsoft.Extensions.Options;

namespace PavementWatch.Server.Store;

/// <summary>Puts the reading store into the host.</summary>
internal static class StoreServices
{
    /// <summary>Adds the <see cref="IReadingStore"/> that section <c>Store</c> names. Needs <c>AddFaults</c>.</summary>
    public static IServiceCollection AddStore(this IServiceCollection services)
    {
        services.AddOptions<StoreOptions>()
            .BindConfiguration("Store", binder => binder.ErrorOnUnknownConfiguration = true)
            .ValidateOnStart();
        services.AddSingleton<IValidateOptions<StoreOptions>, StoreOptionsValidator>();
        services.AddSingleton<StoreCondition>();
        services.AddSingleton<ReadingRevisions>();
        services.AddSingleton<IReadingStore>(provider =>
        {
            var options = provider.GetRequiredService<IOptions<StoreOptions>>().Value;
            IReadingStore store = options.Kind switch
            {
                StoreKind.InfluxDb => new InfluxReadingStore(options),
                _ => OpenSqlite(options, provider.GetRequiredService<ILogger<SqliteReadingStore>>()),
            };
            return new ReportingStore(store, provider.GetRequiredService<StoreCondition>(), provider.GetRequiredService<ReadingRevisions>());
        });
        return services;
    }

    private static SqliteReadingStore OpenSqlite(StoreOptions options, ILogger logger)
    {
        // What a crash left is merged now.
        var wal = new FileInfo(Path.GetFullPath(options.Path) + "-wal");
        var bytes = wal.Exists ? wal.Length : 0;
        var began = TimeProvider.System.GetTimestamp();
        var store = new SqliteReadingStore(options);
        var milliseconds = (long)TimeProvider.System.GetElapsedTime(began).TotalMilliseconds;
        logger.Opened(milliseconds, bytes);
        return store;
    }
}
