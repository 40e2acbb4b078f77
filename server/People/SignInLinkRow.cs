using Microsoft.EntityFrameworkCore;
using Microsoft.EntityFrameworkCore.Metadata.Builders;
using PavementWatch.Server.Database;

namespace PavementWatch.Server.People;

/// <summary>A link that signs its person in once, until it expires or is revoked. Only the hash of its token is kept.</summary>
internal sealed class SignInLinkRow
{
    public int Id { get; init; }

    public required int PersonId { get; init; }

    public required string TokenHash { get; init; }

    public required DateTimeOffset CreatedAt { get; init; }

    public required DateTimeOffset ExpiresAt { get; init; }

    public DateTimeOffset? RevokedAt { get; set; }

    /// <summary>When it signed its person in; it does so once.</summary>
    public DateTimeOffset? UsedAt { get; set; }
}

internal sealed class SignInLinkRowConfiguration : IEntityTypeConfiguration<SignInLinkRow>
{
    public void Configure(EntityTypeBuilder<SignInLinkRow> builder)
    {
        builder.ToTable("SignInLinks");
        builder.HasIndex(l => l.TokenHash).IsUnique();
        builder.HasOne<PersonRow>().WithMany().HasForeignKey(l => l.PersonId);
    }
}
