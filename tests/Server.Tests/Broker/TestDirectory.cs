using PavementWatch.Core.Readings;
using PavementWatch.Server.Ingest;

namespace PavementWatch.Server.Tests.Broker;

/// <summary>Two gateways, or as many as a test names, and the spots each measures.</summary>
internal sealed class TestDirectory : IGatewayDirectory
{
    private int _looks;

    public Dictionary<string, HashSet<string>> Spots { get; } = new()
    {
        ["north-gate"] = ["north-gate-plaza"],
        ["quarry"] = ["quarry-steps"],
    };

    public static string PasswordOf(string user) => "pw-" + user;

    /// <summary>How often a password was looked at.</summary>
    public int Looks => _looks;

    public ValueTask<bool> MaySignInAsync(string user, string password, CancellationToken cancellationToken)
    {
        Interlocked.Increment(ref _looks);
        return ValueTask.FromResult(Spots.ContainsKey(user) && password == PasswordOf(user));
    }

    public ValueTask<bool> IsKnownGoodAsync(string user, string password, CancellationToken cancellationToken) => ValueTask.FromResult(false);

    public ValueTask<bool> KnowsSpotAsync(GatewayId gateway, SpotId spot, CancellationToken cancellationToken) =>
        ValueTask.FromResult(Spots.TryGetValue(gateway.Value, out var spots) && spots.Contains(spot.Value));

    public ValueTask<DateTimeOffset?> MeasuredUntilAsync(GatewayId gateway, SpotId spot, CancellationToken cancellationToken) =>
        ValueTask.FromResult<DateTimeOffset?>(null);

    public ValueTask<GatewayId?> GatewayOfAsync(SpotId spot, CancellationToken cancellationToken) =>
        ValueTask.FromResult(Spots.Where(g => g.Value.Contains(spot.Value)).Select(g => (GatewayId?)GatewayId.Parse(g.Key)).FirstOrDefault());
}
