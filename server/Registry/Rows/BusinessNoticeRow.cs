namespace PavementWatch.Server.Registry.Rows;

/// <summary>One message to the business by one way.</summary>
internal sealed class BusinessNoticeRow : OutboxRow
{
    /// <summary>The way's name.</summary>
    public required string Way { get; init; }
}
