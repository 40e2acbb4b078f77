using Microsoft.EntityFrameworkCore;
using Microsoft.EntityFrameworkCore.Metadata.Builders;

namespace PavementWatch.Server.Notifications;

/// <summary>A walker whom a warning concerns: from when it was told, or from when its spot became theirs.</summary>
internal sealed class ConcernedWalkerRow
{
    public int Id { get; init; }

    public required int EventId { get; init; }

    public required int PersonId { get; init; }

    /// <summary>Since when it concerns them.</summary>
    public required DateTimeOffset Since { get; init; }

    /// <summary>
    /// The watch over somebody who came later; <see cref="UnseenStanding.None"/> for who was there when it was told: for them the
    /// warning itself is watched.
    /// </summary>
    public UnseenStanding Unseen { get; set; }
}

internal sealed class ConcernedWalkerRowConfiguration : IEntityTypeConfiguration<ConcernedWalkerRow>
{
    public void Configure(EntityTypeBuilder<ConcernedWalkerRow> builder)
    {
        builder.ToTable("ConcernedWalkers");
        builder.HasIndex(c => c.Unseen);
        // Nobody is watched for twice of one warning.
        builder.HasIndex(c => new { c.EventId, c.PersonId }).IsUnique();
        // No key to people: one who was removed a moment ago must not hold up what others are told.
        builder.HasOne<AlertEventRow>().WithMany().HasForeignKey(c => c.EventId).OnDelete(DeleteBehavior.Cascade);
    }
}
