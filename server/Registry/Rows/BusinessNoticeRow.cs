namespace PavementWatch.Server.Registry.Rows;

/// <summary>One message to the business by one way: of a warning that no device has shown, or of a fault of the service.</summary>
internal sealed class BusinessNoticeRow : OutboxRow
{
    /// <summary>The warning it is of; <c>null</c> for a fault.</summary>
    public int? EventId { get; init; }

    /// <summary>The fault it is of; <c>null</c> for a warning.</summary>
    public int? FaultId { get; init; }

    /// <summary>Whether it says that the fault has ended.</summary>
    public bool SaysEnded { get; init; }

    /// <summary>The way's name.</summary>
    public required string Way { get; init; }
}
