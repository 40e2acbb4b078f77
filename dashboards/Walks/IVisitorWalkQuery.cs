using System.Security.Claims;
using PavementWatch.Dashboards.Days;

namespace PavementWatch.Dashboards.Walks;

/// <summary>Walks as they are drawn on days: everybody sees their own.</summary>
public interface IVisitorWalkQuery
{
    /// <summary>The first walk of a visitor by a day's spot on that day.</summary>
    /// <param name="visitor">Who looks at the day.</param>
    /// <param name="day">The day.</param>
    /// <param name="cancellationToken">Stops.</param>
    /// <returns>The walk with its dose; <c>null</c> when there is none.</returns>
    Task<WalkMark?> FindAsync(ClaimsPrincipal visitor, SpotDay day, CancellationToken cancellationToken);
}

/// <summary>Until a server keeps walks, there are none.</summary>
internal sealed class NoVisitorWalkQuery : IVisitorWalkQuery
{
    public Task<WalkMark?> FindAsync(ClaimsPrincipal visitor, SpotDay day, CancellationToken cancellationToken) => Task.FromResult<WalkMark?>(null);
}
