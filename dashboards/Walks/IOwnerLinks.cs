using PavementWatch.Dashboards.Days;

namespace PavementWatch.Dashboards.Walks;

/// <summary>Owners' private links: unguessable, read-only, expiring, revocable. The server keeps them.</summary>
public interface IOwnerLinks
{
    /// <summary>The walk behind a link.</summary>
    /// <returns>The walk; <c>null</c> when the link never was, has expired or was withdrawn (the page says the same for all three).</returns>
    Task<OwnerWalk?> FindAsync(string token, CancellationToken cancellationToken);
}

/// <summary>A walk as the dog's owner sees it.</summary>
/// <param name="Dog">The dog's name.</param>
/// <param name="Walker">The walker's name.</param>
/// <param name="Days">The day's curve at each spot of the walk, the walk marked on it.</param>
/// <param name="ExpiresAt">When the link ends, UTC.</param>
public sealed record OwnerWalk(string Dog, string Walker, IReadOnlyList<SpotDay> Days, DateTimeOffset ExpiresAt)
{
    /// <summary>What the walk's ground adds up to; <c>null</c> where there is no walk.</summary>
    public WalkDose? Dose { get; init; }
}

/// <summary>Until a server keeps links, every link is unknown.</summary>
internal sealed class NoOwnerLinks : IOwnerLinks
{
    public Task<OwnerWalk?> FindAsync(string token, CancellationToken cancellationToken) => Task.FromResult<OwnerWalk?>(null);
}
