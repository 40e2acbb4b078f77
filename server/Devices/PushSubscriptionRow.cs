using Microsoft.EntityFrameworkCore;
using Microsoft.EntityFrameworkCore.Metadata.Builders;
using PavementWatch.Server.Database;
using PavementWatch.Server.Spots;

namespace PavementWatch.Server.Devices;

/// <summary>This spot's alerts are wanted on this device.</summary>
internal sealed class FollowRow
{
    public int SubscriptionId { get; init; }

    public required string SpotId { get; init; }
}

/// <summary>One device's push subscription (RFC 8030 endpoint, RFC 8291 keys).</summary>
internal sealed class PushSubscriptionRow
{
    public int Id { get; init; }

    public required int PersonId { get; set; }

    public required string Endpoint { get; init; }

    /// <summary>The device's public key, base64url.</summary>
    public required string P256dh { get; set; }

    /// <summary>The device's authentication secret, base64url.</summary>
    public required string Auth { get; set; }

    public required DateTimeOffset CreatedAt { get; init; }

    public List<FollowRow> Follows { get; init; } = [];

    /// <summary>How many messages in a row the push service answered with 401 or 403; some answer so for a dead subscription.</summary>
    public int ForbiddenInARow { get; set; }

    /// <summary>When it first answered so; <c>null</c> while it takes what it is sent.</summary>
    public DateTimeOffset? ForbiddenSince { get; set; }

    /// <summary>When its push service gave it up; nothing is sent to it from then on, and what it followed is kept for the address that comes after. <c>null</c> while it is told.</summary>
    public DateTimeOffset? GoneAt { get; set; }
}

internal sealed class FollowRowConfiguration : IEntityTypeConfiguration<FollowRow>
{
    public void Configure(EntityTypeBuilder<FollowRow> builder)
    {
        builder.ToTable("Follows");
        builder.HasKey(f => new { f.SubscriptionId, f.SpotId });
        builder.HasOne<SpotRow>().WithMany().HasForeignKey(f => f.SpotId);
    }
}

internal sealed class PushSubscriptionRowConfiguration : IEntityTypeConfiguration<PushSubscriptionRow>
{
    public void Configure(EntityTypeBuilder<PushSubscriptionRow> builder)
    {
        builder.ToTable("PushSubscriptions");
        builder.HasIndex(s => s.Endpoint).IsUnique();
        builder.HasOne<PersonRow>().WithMany().HasForeignKey(s => s.PersonId);
        builder.HasMany(s => s.Follows).WithOne().HasForeignKey(f => f.SubscriptionId);
    }
}
