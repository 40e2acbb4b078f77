using PavementWatch.Core.Readings;
using PavementWatch.Core.Surfaces;

namespace PavementWatch.Dashboards.Setup;

/// <summary>What the business changes: spots, limits, gateways. The server keeps it.</summary>
public interface ISetup
{
    /// <summary>Adds a spot after the others.</summary>
    /// <returns><c>null</c>, or what is wrong with it and what was expected.</returns>
    Task<string?> AddSpotAsync(Spot spot, CancellationToken cancellationToken);

    /// <summary>A spot as it is kept; <c>null</c> when there is none of that name.</summary>
    Spot? FindSpot(SpotId spot);

    /// <summary>Changes a spot, found by its name on the wire, and sends what its gateway needs to know.</summary>
    /// <returns><c>null</c>, or what is wrong with it and what was expected.</returns>
    Task<string?> EditSpotAsync(Spot spot, CancellationToken cancellationToken);

    /// <summary>Removes a spot from every page and gateway; what it measured stays.</summary>
    /// <returns><c>null</c>, or why not.</returns>
    Task<string?> RemoveSpotAsync(SpotId spot, CancellationToken cancellationToken);

    /// <summary>Gives a gateway other spots; one that another gateway has is taken from it.</summary>
    /// <returns>A sentence for each spot that was another gateway's, without its full stop; and why nothing was changed, or <c>null</c>.</returns>
    Task<(IReadOnlyList<string> Moved, string? Fault)> SetGatewaySpotsAsync(
        GatewayId gateway, IReadOnlyList<SpotId> spots, CancellationToken cancellationToken);

    /// <summary>Removes a gateway and ends its connection; what it sent stays.</summary>
    /// <returns><c>null</c>, or why not.</returns>
    Task<string?> RemoveGatewayAsync(GatewayId gateway, CancellationToken cancellationToken);

    /// <summary>Sets the limits of a spot, and sends its gateway what that needs to know.</summary>
    /// <param name="spot">The spot.</param>
    /// <param name="limitCelsius">[°C] The surface temperature from which it is too hot.</param>
    /// <param name="coldLimitCelsius">[°C] That at and under which walkers are told of the cold; <c>null</c> for that of all spots.</param>
    /// <param name="cancellationToken">Ends the attempt.</param>
    /// <returns><c>null</c>, or what is wrong with one of them and what was expected.</returns>
    Task<string?> SetLimitsAsync(SpotId spot, double limitCelsius, double? coldLimitCelsius, CancellationToken cancellationToken);

    /// <summary>Makes a single-use code for a gateway that measures these spots once it is used; until then each stays with the gateway it has.</summary>
    /// <returns>The code, or why there is none.</returns>
    Task<(NewCode? Code, string? Fault)> NewCodeAsync(GatewayId gateway, IReadOnlyList<SpotId> spots, CancellationToken cancellationToken);

    /// <summary>The newest reading of a spot held against what air and sun explain there. Readings dated further ahead than an interval are passed over.</summary>
    /// <returns>The look; <c>null</c> while nothing was ever measured there.</returns>
    Task<FirstLook?> LookAsync(SpotId spot, CancellationToken cancellationToken);
}

/// <summary>A code; shown this once.</summary>
/// <param name="Code">As it is typed.</param>
/// <param name="ExpiresAt">When it ends, UTC.</param>
/// <param name="Command">What to type at the gateway.</param>
/// <param name="QrSvg">The command as a QR code, an <c>svg</c> element without text.</param>
/// <param name="Caution">What stands in the way of another machine, or <c>null</c>.</param>
public sealed record NewCode(string Code, DateTimeOffset ExpiresAt, string Command, string QrSvg, string? Caution)
{
    /// <summary>A sentence for each spot that is another gateway's until the code is used, without its full stop.</summary>
    public IReadOnlyList<string> Moved { get; init; } = [];
}

/// <summary>A reading and what was to be expected.</summary>
/// <param name="Reading">The newest reading.</param>
/// <param name="Now">The server's clock.</param>
public sealed record FirstLook(Reading Reading, DateTimeOffset Now)
{
    /// <summary>Whether it says how the spot is now; else it is history.</summary>
    public bool IsCurrent { get; init; }

    /// <summary>[°C] Lower end of what air and sun explain, without any surface reading; <c>null</c> where no air is known.</summary>
    public double? LowerCelsius { get; init; }

    /// <summary>[°C] Upper end of it.</summary>
    public double? UpperCelsius { get; init; }
}

/// <summary>A host without a registry changes nothing.</summary>
internal sealed class NoSetup : ISetup
{
    private const string Fault = "nothing can be changed here; this host keeps no spots";

    public Task<string?> AddSpotAsync(Spot spot, CancellationToken cancellationToken) => Task.FromResult<string?>(Fault);

    public Task<string?> SetLimitsAsync(SpotId spot, double limitCelsius, double? coldLimitCelsius, CancellationToken cancellationToken) => Task.FromResult<string?>(Fault);

    public Spot? FindSpot(SpotId spot) => null;

    public Task<string?> EditSpotAsync(Spot spot, CancellationToken cancellationToken) => Task.FromResult<string?>(Fault);

    public Task<string?> RemoveSpotAsync(SpotId spot, CancellationToken cancellationToken) => Task.FromResult<string?>(Fault);

    public Task<(IReadOnlyList<string> Moved, string? Fault)> SetGatewaySpotsAsync(
        GatewayId gateway, IReadOnlyList<SpotId> spots, CancellationToken cancellationToken) =>
        Task.FromResult<(IReadOnlyList<string>, string?)>(([], Fault));

    public Task<string?> RemoveGatewayAsync(GatewayId gateway, CancellationToken cancellationToken) => Task.FromResult<string?>(Fault);

    public Task<(NewCode? Code, string? Fault)> NewCodeAsync(GatewayId gateway, IReadOnlyList<SpotId> spots, CancellationToken cancellationToken) =>
        Task.FromResult<(NewCode?, string?)>((null, Fault));

    public Task<FirstLook?> LookAsync(SpotId spot, CancellationToken cancellationToken) => Task.FromResult<FirstLook?>(null);
}
