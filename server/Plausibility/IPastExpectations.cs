using PavementWatch.Core.Surfaces;

namespace PavementWatch.Server.Plausibility;

/// <summary>What spots were to be expected while a backlog was measured.</summary>
internal interface IPastExpectations
{
    /// <summary>Begins with what is stored of the days before a moment, and of other places after it.</summary>
    /// <param name="spot">The spot.</param>
    /// <param name="first">First moment that will be asked for, UTC.</param>
    /// <param name="now">UTC.</param>
    /// <param name="cancellationToken">Stops.</param>
    /// <returns>What it was expected to be; <c>null</c> where it has learnt too little, or other ground lay there.</returns>
    Task<PastExpectation?> FromAsync(Spot spot, DateTimeOffset first, DateTimeOffset now, CancellationToken cancellationToken);
}
