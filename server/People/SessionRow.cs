using Microsoft.EntityFrameworkCore;
using Microsoft.EntityFrameworkCore.Metadata.Builders;
using PavementWatch.Server.Database;

namespace PavementWatch.Server.People;

/// <summary>One browser in which somebody is signed in. It lasts as long as its row.</summary>
internal sealed class SessionRow
{
    /// <summary>Stands in the cookie, which is encrypted and signed.</summary>
    public Guid Id { get; init; }

    public required int PersonId { get; init; }

    public required DateTimeOffset CreatedAt { get; set; }

    /// <summary>When it was last used, to within the hour.</summary>
    public required DateTimeOffset SeenAt { get; set; }

    /// <summary>What the browser said of itself, in short: "Firefox on Android".</summary>
    public required string Device { get; init; }

    /// <summary>How it began: <c>passkey</c>, <c>set-up link</c>, or <c>link 12</c>, with which it ends.</summary>
    public required string EnteredBy { get; init; }
}

internal sealed class SessionRowConfiguration : IEntityTypeConfiguration<SessionRow>
{
    public void Configure(EntityTypeBuilder<SessionRow> builder)
    {
        builder.ToTable("Sessions");
        builder.HasIndex(s => s.PersonId);
        builder.HasOne<PersonRow>().WithMany().HasForeignKey(s => s.PersonId);
    }
}
