using PavementWatch.Core.Alerts;

namespace PavementWatch.Server.Registry.Rows;

/// <summary>What the alert machine remembers of a spot, so that a restart changes nothing.</summary>
internal sealed class AlertMemoryRow
{
    public required string SpotId { get; init; }

    /// <summary>The whole <c>AlertMemory</c>.</summary>
    public required string Json { get; set; }

    /// <summary>Up to which reading (by its time of receipt) it counts.</summary>
    public required DateTimeOffset SavedAt { get; set; }
}

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
