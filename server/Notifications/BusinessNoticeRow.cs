using Microsoft.EntityFrameworkCore;
using Microsoft.EntityFrameworkCore.Metadata.Builders;

namespace PavementWatch.Server.Notifications;

/// <summary>One message to the business by one way: of a warning that no device has shown, or of a fault of the service.</summary>
internal sealed class BusinessNoticeRow : OutboxRow
{
    /// <summary>The warning it is of; <c>null</c> for a fault.</summary>
    public int? EventId { get; init; }

    /// <summary>Of which of those who came after the warning was told it is, by the first one's <see cref="ConcernedWalkerRow"/>; 0 for those who were there.</summary>
    public int CameLater { get; init; }

    /// <summary>The fault it is of; <c>null</c> for a warning.</summary>
    public int? FaultId { get; init; }

    /// <summary>Whether it says that the fault has ended.</summary>
    public bool SaysEnded { get; init; }

    /// <summary>The way's name.</summary>
    public required string Channel { get; init; }
}

internal sealed class BusinessNoticeRowConfiguration : IEntityTypeConfiguration<BusinessNoticeRow>
{
    public void Configure(EntityTypeBuilder<BusinessNoticeRow> builder)
    {
        builder.ToTable("BusinessNotices");
        builder.HasIndex(n => new { n.Standing, n.NextAttemptAt });
        builder.HasIndex(n => new { n.EventId, n.CameLater, n.Channel }).IsUnique();
        builder.HasIndex(n => new { n.FaultId, n.SaysEnded, n.Channel }).IsUnique();
        builder.HasOne<AlertEventRow>().WithMany().HasForeignKey(n => n.EventId).OnDelete(DeleteBehavior.Cascade);
        builder.HasOne<FaultRow>().WithMany().HasForeignKey(n => n.FaultId).OnDelete(DeleteBehavior.Cascade);
    }
}
