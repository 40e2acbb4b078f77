using PavementWatch.Core.Readings;

namespace PavementWatch.Server.Ingest;

/// <summary>What the doors of the broker ask of whoever keeps the gateways and their spots.</summary>
internal interface IGatewayDirectory
{
    /// <summary>Whether this user, a gateway's name, may sign in with this password. Unknown users may not.</summary>
    ValueTask<bool> MaySignInAsync(string user, string password, CancellationToken cancellationToken);

    /// <summary>Whether exactly this name and password were found right before and are so still; cheap, and never right at first.</summary>
    ValueTask<bool> IsKnownGoodAsync(string user, string password, CancellationToken cancellationToken);

    /// <summary>Whether the spot exists and this gateway measures it.</summary>
    ValueTask<bool> KnowsSpotAsync(GatewayId gateway, SpotId spot, CancellationToken cancellationToken);

    /// <summary>When a spot that this gateway measured was taken from it; <c>null</c> when it was not. What it measured before is taken still.</summary>
    ValueTask<DateTimeOffset?> MeasuredUntilAsync(GatewayId gateway, SpotId spot, CancellationToken cancellationToken);

    /// <summary>The gateway that measures a spot; <c>null</c> when none does.</summary>
    ValueTask<GatewayId?> GatewayOfAsync(SpotId spot, CancellationToken cancellationToken);
}
