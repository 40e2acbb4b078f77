using Microsoft.EntityFrameworkCore;
using Microsoft.EntityFrameworkCore.Metadata.Builders;
using PavementWatch.Core.Alerts;
using PavementWatch.Server.Spots;

namespace PavementWatch.Server.Notifications;

/// <summary>A change of state that happened, and why.</summary>
internal sealed class AlertEventRow
{
    public int Id { get; init; }

    public required string SpotId { get; init; }

    public required AlertState From { get; init; }

    public required AlertState To { get; init; }

    /// <summary>The reason's name.</summary>
    public required string Because { get; init; }

    public required DateTimeOffset At { get; init; }

    /// <summary>[°C] The surface temperature it rests on, if one.</summary>
    public double? SurfaceCelsius { get; init; }

    /// <summary>Whether walkers near were told.</summary>
    public required bool Notified { get; init; }

    /// <summary>The change as people read it.</summary>
    public required string Text { get; init; }

    /// <summary>How many walkers it concerned, with a device or without.</summary>
    public int Walkers { get; set; }

    /// <summary>Whether somebody still looks whether a walker's device shows it.</summary>
    public UnseenStanding Unseen { get; set; }
}

/// <summary>Where the watch for a shown warning stands.</summary>
internal enum UnseenStanding
{
    /// <summary>No warning, or nobody it concerned.</summary>
    None = 0,

    /// <summary>Not shown yet, not too late yet.</summary>
    Watched,

    /// <summary>A device showed it, or newer news of the spot took its place.</summary>
    Settled,

    /// <summary>No device showed it in time; the business was told, where it set a way.</summary>
    Unseen,
}

internal sealed class AlertEventRowConfiguration : IEntityTypeConfiguration<AlertEventRow>
{
    public void Configure(EntityTypeBuilder<AlertEventRow> builder)
    {
        builder.ToTable("AlertEvents");
        builder.HasIndex(a => new { a.SpotId, a.At });
        builder.HasIndex(a => a.Unseen);
        builder.HasOne<SpotRow>().WithMany().HasForeignKey(a => a.SpotId);
    }
}
