using Microsoft.EntityFrameworkCore;
using Microsoft.EntityFrameworkCore.Metadata.Builders;

namespace PavementWatch.Server.Dogs;

/// <summary>The private, read-only link of a dog's owner. Only the hash of its token is kept.</summary>
internal sealed class OwnerLinkRow
{
    public int Id { get; init; }

    public required int DogId { get; init; }

    public required string TokenHash { get; init; }

    public required DateTimeOffset CreatedAt { get; init; }

    public required DateTimeOffset ExpiresAt { get; init; }

    public DateTimeOffset? RevokedAt { get; set; }
}

internal sealed class OwnerLinkRowConfiguration : IEntityTypeConfiguration<OwnerLinkRow>
{
    public void Configure(EntityTypeBuilder<OwnerLinkRow> builder)
    {
        builder.ToTable("OwnerLinks");
        builder.HasIndex(l => l.TokenHash).IsUnique();
        builder.HasOne<DogRow>().WithMany().HasForeignKey(l => l.DogId);
    }
}
