using System.Data.Common;
using Microsoft.AspNetCore.Identity;
using Microsoft.Data.Sqlite;
using Microsoft.EntityFrameworkCore;
using Microsoft.EntityFrameworkCore.Design;
using Microsoft.EntityFrameworkCore.Diagnostics;
using Microsoft.Extensions.Options;

namespace PavementWatch.Server.Database;

/// <summary>The registry: all relational data, and the folder it is in.</summary>
internal static class DatabaseServices
{
    public static IServiceCollection AddDatabase(this IServiceCollection services)
    {
        services.AddOptions<DataOptions>()
            .BindConfiguration("Data", b => b.ErrorOnUnknownConfiguration = true)
            .ValidateOnStart();
        services.AddSingleton<IValidateOptions<DataOptions>, DataOptionsValidator>();
        services.AddSingleton<DataFolder>();
        services.Configure<IdentityOptions>(RegistryDb.TablesOfIdentity);
        services.AddPooledDbContextFactory<RegistryDb>((provider, options) =>
            options.UseSqlite(Connection(provider.GetRequiredService<DataFolder>().File("registry.sqlite")))
                .AddInterceptors(new SqliteWaits())
                // Also told of a commit that a stopping server gives up; whoever asked for it hears of a true failure and logs it.
                .ConfigureWarnings(w => w.Log(
                    (RelationalEventId.TransactionError, LogLevel.Debug),
                    // SQLite rebuilds a table to change it, with its foreign keys off, which a transaction does not allow. Migrations
                    // are written for that; an operator has nothing to do about it.
                    (RelationalEventId.NonTransactionalMigrationOperationWarning, LogLevel.Debug),
                    (SqliteEventId.TableRebuildPendingWarning, LogLevel.Debug))));
        // The first of all hosted services, and so made before any of them opens a file.
        services.AddSingleton<DataFolderLock>();
        services.AddSingleton(provider => new Lazy<DataFolderLock>(provider.GetRequiredService<DataFolderLock>));
        services.AddHostedService(provider => provider.GetRequiredService<DataFolderLock>());
        services.AddSingleton<RegistryStart>();
        services.AddHostedService(provider => provider.GetRequiredService<RegistryStart>());
        services.AddHostedService<DiskProbe>();
        services.AddHealthChecks().AddCheck<RegistryHealth>("registry");
        return services;
    }

    /// <summary>A registry in a file that is open already.</summary>
    /// <param name="connection">The file; stays open.</param>
    /// <param name="options">How the registry is opened otherwise.</param>
    public static RegistryDb Open(DbConnection connection, DbContextOptions<RegistryDb> options) =>
        new(new DbContextOptionsBuilder<RegistryDb>(options).UseSqlite(connection).Options);

    private static string Connection(string path) =>
        new SqliteConnectionStringBuilder { DataSource = path, ForeignKeys = true }.ToString();
}

/// <summary>What <c>dotnet ef migrations add</c> builds on; never used by the running server.</summary>
internal sealed class RegistryDbAtDesignTime : IDesignTimeDbContextFactory<RegistryDb>
{
    public RegistryDb CreateDbContext(string[] args) =>
        new(new DbContextOptionsBuilder<RegistryDb>()
            .UseSqlite("Data Source=:memory:")
            // Identity asks there which edition of its tables is wanted.
            .UseApplicationServiceProvider(new ServiceCollection().Configure<IdentityOptions>(RegistryDb.TablesOfIdentity).BuildServiceProvider())
            .Options);
}
