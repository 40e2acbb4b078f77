namespace PavementWatch.Server.Database;

/// <summary>A part of the registry kept in memory, read before anything else starts.</summary>
internal interface IReadAtStart
{
    /// <summary>Takes over what the registry says now.</summary>
    Task RefreshAsync(CancellationToken cancellationToken);
}
