using Microsoft.EntityFrameworkCore;
using Microsoft.EntityFrameworkCore.Metadata.Builders;

namespace PavementWatch.Server.Gateways;

/// <summary>A single-use code with which a gateway fetches its credentials. Only its hash is kept.</summary>
internal sealed class EnrolmentCodeRow
{
    public int Id { get; init; }

    public required string GatewayId { get; init; }

    public required string CodeHash { get; init; }

    /// <summary>Names of the spots it is given when the code is used, with commas between; <c>null</c> leaves it those it has then.</summary>
    public string? SpotIds { get; init; }

    public required DateTimeOffset CreatedAt { get; init; }

    public required DateTimeOffset ExpiresAt { get; set; }

    /// <summary>When it was used; <c>null</c> before.</summary>
    public DateTimeOffset? UsedAt { get; set; }

    /// <summary>How often somebody came with it; more than 1 means that somebody came again.</summary>
    public int Uses { get; set; }
}

internal sealed class EnrolmentCodeRowConfiguration : IEntityTypeConfiguration<EnrolmentCodeRow>
{
    public void Configure(EntityTypeBuilder<EnrolmentCodeRow> builder)
    {
        builder.ToTable("EnrolmentCodes");
        builder.HasIndex(c => c.CodeHash).IsUnique();
        builder.HasOne<GatewayRow>().WithMany().HasForeignKey(c => c.GatewayId);
    }
}
