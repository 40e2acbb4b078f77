using Microsoft.AspNetCore.Identity;
using Microsoft.AspNetCore.Identity.EntityFrameworkCore;
using Microsoft.EntityFrameworkCore;
using Microsoft.EntityFrameworkCore.Storage.ValueConversion;
using PavementWatch.Core.Alerts;
using PavementWatch.Core.Surfaces;
using PavementWatch.Dashboards.Checks;
using PavementWatch.Server.Registry.Rows;

namespace PavementWatch.Server.Registry;

/// <summary>Everything that is not a time series: spots, gateways, people, dogs, walks, fits, alerts, the outbox of notifications.</summary>
/// <remarks>
/// People are users of ASP.NET Core Identity, without its tables of roles: everybody has exactly one <see cref="Role"/>. Moments are kept as Unix milliseconds, because SQLite cannot order a <see cref="DateTimeOffset"/>; enums by name.
/// </remarks>
internal sealed class RegistryDb(DbContextOptions<RegistryDb> options) : IdentityUserContext<PersonRow, int>(options)
{
    public DbSet<SpotRow> Spots => Set<SpotRow>();

    public DbSet<GatewayRow> Gateways => Set<GatewayRow>();

    public DbSet<GatewaySpotRow> GatewaySpots => Set<GatewaySpotRow>();

    public DbSet<FormerGatewaySpotRow> FormerGatewaySpots => Set<FormerGatewaySpotRow>();

    public DbSet<EnrolmentCodeRow> EnrolmentCodes => Set<EnrolmentCodeRow>();

    public DbSet<PersonRow> People => Set<PersonRow>();

    public DbSet<SessionRow> Sessions => Set<SessionRow>();

    public DbSet<SignInLinkRow> SignInLinks => Set<SignInLinkRow>();

    public DbSet<OwnerLinkRow> OwnerLinks => Set<OwnerLinkRow>();

    public DbSet<DogRow> Dogs => Set<DogRow>();

    public DbSet<WalkRow> Walks => Set<WalkRow>();

    public DbSet<FollowRow> Follows => Set<FollowRow>();

    public DbSet<PushSubscriptionRow> PushSubscriptions => Set<PushSubscriptionRow>();

    public DbSet<VapidKeysRow> VapidKeys => Set<VapidKeysRow>();

    public DbSet<FitRow> Fits => Set<FitRow>();

    public DbSet<AlertMemoryRow> AlertMemories => Set<AlertMemoryRow>();

    public DbSet<AlertEventRow> AlertEvents => Set<AlertEventRow>();

    public DbSet<NotificationRow> Notifications => Set<NotificationRow>();

    public DbSet<FaultRow> Faults => Set<FaultRow>();

    public DbSet<BusinessNoticeRow> BusinessNotices => Set<BusinessNoticeRow>();

    public DbSet<SpotCheckRow> SpotChecks => Set<SpotCheckRow>();

    public DbSet<FitDecisionRow> FitDecisions => Set<FitDecisionRow>();

    public DbSet<AgreementThresholdsRow> AgreementThresholds => Set<AgreementThresholdsRow>();

    public DbSet<WeatherRow> Weather => Set<WeatherRow>();

    /// <summary>Identity's tables as this registry has them: the third edition, with passkeys.</summary>
    public static void TablesOfIdentity(IdentityOptions options) => options.Stores.SchemaVersion = IdentitySchemaVersions.Version3;

    protected override void ConfigureConventions(ModelConfigurationBuilder configurationBuilder)
    {
        configurationBuilder.Properties<DateTimeOffset>().HaveConversion<UnixMilliseconds>();
        configurationBuilder.Properties<SurfaceKind>().HaveConversion<string>();
        configurationBuilder.Properties<AlertState>().HaveConversion<string>();
        configurationBuilder.Properties<Role>().HaveConversion<string>();
        configurationBuilder.Properties<FitStanding>().HaveConversion<string>();
        configurationBuilder.Properties<CheckedGround>().HaveConversion<string>();
        configurationBuilder.Properties<UnseenStanding>().HaveConversion<string>();
        configurationBuilder.Properties<NotificationStanding>().HaveConversion<string>();
        configurationBuilder.Properties<WeatherKind>().HaveConversion<string>();
    }

    protected override void OnModelCreating(ModelBuilder modelBuilder)
    {
        base.OnModelCreating(modelBuilder);
        modelBuilder.Entity<SpotRow>().HasIndex(s => s.Position);
        modelBuilder.Entity<GatewayRow>().HasMany(g => g.Spots).WithOne().HasForeignKey(s => s.GatewayId);
        modelBuilder.Entity<GatewaySpotRow>(e =>
        {
            e.HasKey(s => new { s.GatewayId, s.SpotId });
            // One gateway a spot, whoever writes: two would take turns in what walkers are told.
            e.HasIndex(s => s.SpotId).IsUnique();
            e.HasOne<SpotRow>().WithMany().HasForeignKey(s => s.SpotId);
        });
        modelBuilder.Entity<FormerGatewaySpotRow>(e =>
        {
            e.HasKey(s => new { s.GatewayId, s.SpotId });
            e.HasOne<GatewayRow>().WithMany().HasForeignKey(s => s.GatewayId);
            e.HasOne<SpotRow>().WithMany().HasForeignKey(s => s.SpotId);
        });
        modelBuilder.Entity<EnrolmentCodeRow>(e =>
        {
            e.HasIndex(c => c.CodeHash).IsUnique();
            e.HasOne<GatewayRow>().WithMany().HasForeignKey(c => c.GatewayId);
        });
        modelBuilder.Entity<PersonRow>(e =>
        {
            e.ToTable("People");
            e.Ignore(p => p.Name);
        });
        modelBuilder.Entity<IdentityUserPasskey<int>>().ToTable("Passkeys");
        modelBuilder.Entity<SessionRow>(e =>
        {
            e.HasIndex(s => s.PersonId);
            e.HasOne<PersonRow>().WithMany().HasForeignKey(s => s.PersonId);
        });
        modelBuilder.Entity<SignInLinkRow>(e =>
        {
            e.HasIndex(l => l.TokenHash).IsUnique();
            e.HasOne<PersonRow>().WithMany().HasForeignKey(l => l.PersonId);
        });
        modelBuilder.Entity<OwnerLinkRow>(e =>
        {
            e.HasIndex(l => l.TokenHash).IsUnique();
            e.HasOne<DogRow>().WithMany().HasForeignKey(l => l.DogId);
        });
        modelBuilder.Entity<DogRow>().HasIndex(d => d.Name);
        modelBuilder.Entity<WalkRow>(e =>
        {
            e.HasIndex(w => w.Start);
            e.HasOne<DogRow>().WithMany().HasForeignKey(w => w.DogId);
            e.HasOne<PersonRow>().WithMany().HasForeignKey(w => w.WalkerId).OnDelete(DeleteBehavior.SetNull);
            e.HasMany(w => w.Spots).WithOne().HasForeignKey(s => s.WalkId);
        });
        modelBuilder.Entity<WalkSpotRow>(e =>
        {
            e.HasKey(s => new { s.WalkId, s.SpotId });
            e.HasOne<SpotRow>().WithMany().HasForeignKey(s => s.SpotId);
        });
        modelBuilder.Entity<FollowRow>(e =>
        {
            e.HasKey(f => new { f.SubscriptionId, f.SpotId });
            e.HasOne<SpotRow>().WithMany().HasForeignKey(f => f.SpotId);
        });
        modelBuilder.Entity<PushSubscriptionRow>(e =>
        {
            e.HasIndex(s => s.Endpoint).IsUnique();
            e.HasOne<PersonRow>().WithMany().HasForeignKey(s => s.PersonId);
            e.HasMany(s => s.Follows).WithOne().HasForeignKey(f => f.SubscriptionId);
        });
        modelBuilder.Entity<VapidKeysRow>().Property(v => v.Id).ValueGeneratedNever();
        modelBuilder.Entity<FitRow>(e =>
        {
            e.HasIndex(f => new { f.SpotId, f.FittedAt });
            // At most one fit in use a spot, whoever writes.
            e.HasIndex(f => f.SpotId).IsUnique().HasFilter("\"Standing\" = 'InUse'");
            e.HasOne<SpotRow>().WithMany().HasForeignKey(f => f.SpotId);
        });
        modelBuilder.Entity<AlertMemoryRow>(e =>
        {
            e.HasKey(m => m.SpotId);
            e.HasOne<SpotRow>().WithOne().HasForeignKey<AlertMemoryRow>(m => m.SpotId);
        });
        modelBuilder.Entity<AlertEventRow>(e =>
        {
            e.HasIndex(a => new { a.SpotId, a.At });
            e.HasIndex(a => a.Unseen);
            e.HasOne<SpotRow>().WithMany().HasForeignKey(a => a.SpotId);
        });
        modelBuilder.Entity<BusinessNoticeRow>(e =>
        {
            e.HasIndex(n => new { n.Standing, n.NextAttemptAt });
            e.HasIndex(n => new { n.EventId, n.Way }).IsUnique();
            e.HasIndex(n => new { n.FaultId, n.SaysEnded, n.Way }).IsUnique();
            e.HasOne<AlertEventRow>().WithMany().HasForeignKey(n => n.EventId).OnDelete(DeleteBehavior.Cascade);
            e.HasOne<FaultRow>().WithMany().HasForeignKey(n => n.FaultId).OnDelete(DeleteBehavior.Cascade);
        });
        modelBuilder.Entity<FaultRow>().HasIndex(f => f.Key).IsUnique().HasFilter("\"EndedAt\" IS NULL");
        modelBuilder.Entity<NotificationRow>(e =>
        {
            e.HasIndex(n => new { n.Standing, n.NextAttemptAt });
            // Each change is pushed once per device, whatever is retried.
            e.HasIndex(n => new { n.EventId, n.SubscriptionId }).IsUnique();
            e.HasOne<AlertEventRow>().WithMany().HasForeignKey(n => n.EventId);
        });
        modelBuilder.Entity<SpotCheckRow>(e =>
        {
            e.HasIndex(c => new { c.SpotId, c.At });
            e.HasOne<SpotRow>().WithMany().HasForeignKey(c => c.SpotId);
        });
        modelBuilder.Entity<FitDecisionRow>(e =>
        {
            e.HasIndex(d => new { d.SpotId, d.At });
            e.HasOne<FitRow>().WithMany().HasForeignKey(d => d.FitId);
        });
        modelBuilder.Entity<WeatherRow>(e =>
        {
            e.HasKey(w => new { w.Site, w.Kind, w.At });
            e.HasIndex(w => w.StoredAt);
        });
    }

    private sealed class UnixMilliseconds() : ValueConverter<DateTimeOffset, long>(
        at => at.ToUnixTimeMilliseconds(),
        value => DateTimeOffset.FromUnixTimeMilliseconds(value));
}
