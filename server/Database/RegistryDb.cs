using Microsoft.AspNetCore.Identity;
using Microsoft.AspNetCore.Identity.EntityFrameworkCore;
using Microsoft.EntityFrameworkCore;
using Microsoft.EntityFrameworkCore.Storage.ValueConversion;

namespace PavementWatch.Server.Database;

/// <summary>Everything that is not a time series: spots, gateways, people, dogs, walks, fits, alerts, the outbox of notifications.</summary>
/// <remarks>
/// People are users of ASP.NET Core Identity, without its tables of roles: everybody has exactly one <see cref="Role"/>. Moments are kept as Unix milliseconds, because SQLite cannot order a <see cref="DateTimeOffset"/>; enums by name.
/// </remarks>
internal sealed class RegistryDb(DbContextOptions<RegistryDb> options) : IdentityUserContext<PersonRow, int>(options)
{
    public DbSet<PersonRow> People => Set<PersonRow>();

    /// <summary>Identity's tables as this registry has them: the third edition, with passkeys.</summary>
    public static void TablesOfIdentity(IdentityOptions options) => options.Stores.SchemaVersion = IdentitySchemaVersions.Version3;

    protected override void ConfigureConventions(ModelConfigurationBuilder configurationBuilder)
    {
        configurationBuilder.Properties<DateTimeOffset>().HaveConversion<UnixMilliseconds>();
        configurationBuilder.Properties<Enum>().HaveConversion<string>();
    }

    protected override void OnModelCreating(ModelBuilder modelBuilder)
    {
        base.OnModelCreating(modelBuilder);
        modelBuilder.Entity<PersonRow>(e =>
        {
            e.ToTable("People");
            e.Ignore(p => p.Name);
        });
        modelBuilder.Entity<IdentityUserPasskey<int>>().ToTable("Passkeys");
        modelBuilder.ApplyConfigurationsFromAssembly(typeof(RegistryDb).Assembly);
    }

    /// <summary>Moments as SQLite can order them.</summary>
    internal sealed class UnixMilliseconds() : ValueConverter<DateTimeOffset, long>(
        at => at.ToUnixTimeMilliseconds(),
        value => DateTimeOffset.FromUnixTimeMilliseconds(value));
}
