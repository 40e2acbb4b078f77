using PavementWatch.Core.Readings;

namespace PavementWatch.Dashboards.Checks;

/// <summary>What hands and eyes have said of the probes.</summary>
public interface IProbeReview
{
    /// <summary>Spots that a gateway measures and nobody has ever held a thermometer against.</summary>
    Task<IReadOnlySet<SpotId>> NeverCheckedAsync(CancellationToken cancellationToken);

    /// <summary>Since when a spot's readings look too cool to be true, UTC; <c>null</c> when they do not.</summary>
    DateTimeOffset? DoubtedSince(SpotId spot);

    /// <summary>Somebody has looked at a spot and says that its readings are right; they are believed from the next on.</summary>
    /// <returns>Whether they looked too cool.</returns>
    bool Explain(SpotId spot);
}

/// <summary>A host without checks.</summary>
internal sealed class NoProbeReview : IProbeReview
{
    public Task<IReadOnlySet<SpotId>> NeverCheckedAsync(CancellationToken cancellationToken) =>
        Task.FromResult<IReadOnlySet<SpotId>>(new HashSet<SpotId>());

    public DateTimeOffset? DoubtedSince(SpotId spot) => null;

    public bool Explain(SpotId spot) => false;
}
