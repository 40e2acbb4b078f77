using Microsoft.EntityFrameworkCore;
using Microsoft.EntityFrameworkCore.Metadata.Builders;
using PavementWatch.Core.Alerts;

namespace PavementWatch.Server.Notifications;

/// <summary>Where a message stands.</summary>
internal enum NotificationStanding
{
    /// <summary>To be sent at <see cref="OutboxRow.NextAttemptAt"/>.</summary>
    Waiting = 0,

    /// <summary>The push service, or the business' own server, took it.</summary>
    Sent,

    /// <summary>It was refused for good, or the subscription is dead.</summary>
    Failed,

    /// <summary>Its news was too old before it could be sent.</summary>
    Expired,

    /// <summary>Newer news of the same spot, or of the same fault, took its place.</summary>
    Overtaken,
}

/// <summary>A message that waits, is repeated, and ends one way or another: the durable outbox.</summary>
internal abstract class OutboxRow
{
    public required Guid Id { get; init; }

    /// <summary>The message as JSON.</summary>
    public required string Payload { get; init; }

    public required DateTimeOffset CreatedAt { get; init; }

    public required DateTimeOffset ExpiresAt { get; init; }

    public required DateTimeOffset NextAttemptAt { get; set; }

    public int Attempts { get; set; }

    public NotificationStanding Standing { get; set; }

    public DateTimeOffset? SentAt { get; set; }

    /// <summary>What went wrong last, or empty.</summary>
    public string LastFault { get; set; } = "";
}

/// <summary>One message of a change to one device.</summary>
internal sealed class NotificationRow : OutboxRow
{
    public required int EventId { get; init; }

    public required int PersonId { get; init; }

    public required int SubscriptionId { get; init; }

    public required string SpotId { get; init; }

    /// <summary>Whether it is of heat or of cold.</summary>
    public required AlertSide Side { get; init; }

    /// <summary>Whether it was sent before under the same name.</summary>
    public bool IsRepeat { get; set; }

    /// <summary>When the device said it showed it.</summary>
    public DateTimeOffset? ShownAt { get; set; }
}

internal sealed class NotificationRowConfiguration : IEntityTypeConfiguration<NotificationRow>
{
    public void Configure(EntityTypeBuilder<NotificationRow> builder)
    {
        builder.ToTable("Notifications");
        builder.HasIndex(n => new { n.Standing, n.NextAttemptAt });
        builder.HasIndex(n => new { n.SubscriptionId, n.Standing });
        // Each change is pushed once per device, whatever is retried.
        builder.HasIndex(n => new { n.EventId, n.SubscriptionId }).IsUnique();
        builder.HasOne<AlertEventRow>().WithMany().HasForeignKey(n => n.EventId);
    }
}
