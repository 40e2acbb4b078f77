using PavementWatch.Core.Surfaces;

namespace PavementWatch.Core.Offsets;

/// <summary>
/// How far a measured spot is from what its own fit expects, lent to a dark spot of the same site: the same cloud is
/// over both. In standard deviations, so that grass can speak to asphalt.
/// </summary>
/// <remarks>Heat is lent, never coolness: a van or a tree that shades the lender leaves the dark spot in the sun.</remarks>
/// <param name="Surface">The lender's ground.</param>
/// <param name="SeenAt">When its surface was read, UTC.</param>
/// <param name="Sigmas">[standard deviations] Measured minus expected; −4 to 4.</param>
public readonly record struct NeighbourResidual(SurfaceKind Surface, DateTimeOffset SeenAt, double Sigmas)
{
    // How much of one spot's residual another one shares. Our choice: no open measurement of two spots was found.
    private const double SameKindShare = 0.6;
    private const double OtherKindShare = 0.4;

    /// <summary>[fraction] How much of the residual another ground shares.</summary>
    internal double ShareFor(SurfaceKind other) => Surface == other ? SameKindShare : OtherKindShare;

    /// <summary>[standard deviations] What another spot may take of it; 0 or more.</summary>
    internal double LentSigmas => Math.Max(0, Sigmas);
}
