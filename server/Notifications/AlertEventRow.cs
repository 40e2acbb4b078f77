using Microsoft.EntityFrameworkCore;
using Microsoft.EntityFrameworkCore.Metadata.Builders;
using PavementWatch.Core.Alerts;
using PavementWatch.Core.Readings;
using PavementWatch.Core.Surfaces;
using PavementWatch.Server.Spots;

namespace PavementWatch.Server.Notifications;

/// <summary>A change of state that happened, and why.</summary>
internal sealed class AlertEventRow
{
    public int Id { get; init; }

    public required string SpotId { get; init; }

    public required AlertState From { get; init; }

    public required AlertState To { get; init; }

    public required AlertReason Because { get; init; }

    /// <summary>Whether it is of heat or of cold.</summary>
    public required AlertSide Side { get; init; }

    public required DateTimeOffset At { get; init; }

    /// <summary>[°C] The surface temperature it rests on, if one.</summary>
    public double? SurfaceCelsius { get; init; }

    /// <summary>[°C] The limit that held.</summary>
    public required double LimitCelsius { get; init; }

    /// <summary>[°C] The estimate's upper end, where an estimate decided; of the cold its lower end.</summary>
    public double? UpperCelsius { get; init; }

    /// <summary>When the limit was expected to be reached, where that decided.</summary>
    public DateTimeOffset? ReachesAt { get; init; }

    /// <summary>[°C] The limit before it was raised, where that decided.</summary>
    public double? LimitBeforeCelsius { get; init; }

    /// <summary>Who raised it.</summary>
    public LimitChanger LimitChangedBy { get; init; }

    /// <summary>When the last good reading was taken, where there was one.</summary>
    public DateTimeOffset? LastGoodAt { get; init; }

    /// <summary>Whether walkers near were told.</summary>
    public required bool Notified { get; init; }

    /// <summary>How many walkers it concerned, with a device or without.</summary>
    public int Walkers { get; set; }

    /// <summary>Whether somebody still looks whether a walker's device shows it.</summary>
    public UnseenStanding Unseen { get; set; }

    /// <summary>A change as the registry has it.</summary>
    public static AlertEventRow Of(SpotId spot, AlertDecision decision) => new()
    {
        SpotId = spot.Value,
        From = decision.From,
        To = decision.To,
        Because = decision.Because,
        Side = decision.Side,
        At = decision.At,
        SurfaceCelsius = decision.SurfaceCelsius,
        LimitCelsius = decision.LimitCelsius,
        UpperCelsius = decision.UpperCelsius,
        ReachesAt = decision.ReachesAt,
        LimitBeforeCelsius = decision.LimitBeforeCelsius,
        LimitChangedBy = decision.LimitChangedBy,
        LastGoodAt = decision.LastGoodAt,
        Notified = decision.Notify,
    };

    /// <summary>The change as it was decided.</summary>
    public AlertDecision Decision() => new(From, To, Because, At, Notified, SurfaceCelsius)
    {
        Side = Side,
        LimitCelsius = LimitCelsius,
        UpperCelsius = UpperCelsius,
        ReachesAt = ReachesAt,
        LimitBeforeCelsius = LimitBeforeCelsius,
        LimitChangedBy = LimitChangedBy,
        LastGoodAt = LastGoodAt,
    };
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
        builder.HasIndex(a => new { a.SpotId, a.Side, a.Notified });
        builder.HasIndex(a => a.Unseen);
        builder.HasOne<SpotRow>().WithMany().HasForeignKey(a => a.SpotId);
    }
}
