using PavementWatch.Core.Surfaces;
using PavementWatch.Server.Plausibility;

namespace PavementWatch.Server.Estimates;

/// <summary>Expectations of a backlog by the fit that is in use, as of what is measured now.</summary>
internal sealed class PastExpectations(SpotEstimates ground) : IPastExpectations
{
    public async Task<PastExpectation?> FromAsync(Spot spot, DateTimeOffset first, DateTimeOffset now, CancellationToken cancellationToken)
    {
        if (!ground.HasLearnt(spot.Id) || first <= await ground.GroundSinceAsync(spot.Id, cancellationToken))
            return null;
        var known = await ground.WeatherAsync(spot, first, now, now, cancellationToken);
        return new PastExpectation(spot, known.Samples, (weather, at) => ground.Now(spot, weather, at, []).At(at, DateTimeOffset.MinValue).Value);
    }
}
