using Microsoft.EntityFrameworkCore;
using Microsoft.EntityFrameworkCore.Metadata.Builders;
using PavementWatch.Server.Spots;

namespace PavementWatch.Server.Gateways;

/// <summary>A gateway and the hash of its secret.</summary>
internal sealed class GatewayRow
{
    public required string Id { get; init; }

    /// <summary>As <see cref="Gateways.SecretHash"/> writes it.</summary>
    public required string SecretHash { get; set; }

    public required DateTimeOffset CreatedAt { get; init; }

    public List<GatewaySpotRow> Spots { get; init; } = [];
}

/// <summary>A spot a gateway may report on; no two gateways have the same.</summary>
internal sealed class GatewaySpotRow
{
    public required string GatewayId { get; init; }

    public required string SpotId { get; init; }
}

/// <summary>A spot a gateway no longer measures: what it measured there before it may still bring.</summary>
internal sealed class FormerGatewaySpotRow
{
    public required string GatewayId { get; init; }

    public required string SpotId { get; init; }

    /// <summary>When it was taken from the gateway.</summary>
    public required DateTimeOffset Until { get; set; }
}

internal sealed class GatewayRowConfiguration : IEntityTypeConfiguration<GatewayRow>
{
    public void Configure(EntityTypeBuilder<GatewayRow> builder)
    {
        builder.ToTable("Gateways");
        builder.HasMany(g => g.Spots).WithOne().HasForeignKey(s => s.GatewayId);
    }
}

internal sealed class GatewaySpotRowConfiguration : IEntityTypeConfiguration<GatewaySpotRow>
{
    public void Configure(EntityTypeBuilder<GatewaySpotRow> builder)
    {
        builder.ToTable("GatewaySpots");
        builder.HasKey(s => new { s.GatewayId, s.SpotId });
        // One gateway a spot, whoever writes: two would take turns in what walkers are told.
        builder.HasIndex(s => s.SpotId).IsUnique();
        builder.HasOne<SpotRow>().WithMany().HasForeignKey(s => s.SpotId);
    }
}

internal sealed class FormerGatewaySpotRowConfiguration : IEntityTypeConfiguration<FormerGatewaySpotRow>
{
    public void Configure(EntityTypeBuilder<FormerGatewaySpotRow> builder)
    {
        builder.ToTable("FormerGatewaySpots");
        builder.HasKey(s => new { s.GatewayId, s.SpotId });
        builder.HasOne<GatewayRow>().WithMany().HasForeignKey(s => s.GatewayId);
        builder.HasOne<SpotRow>().WithMany().HasForeignKey(s => s.SpotId);
    }
}
