using PavementWatch.Core.Readings;
using PavementWatch.Core.Surfaces;

namespace PavementWatch.Server.Demo;

/// <summary>Ferngate, a town that does not exist: its spots, gateways, people and dogs.</summary>
internal static class DemoTown
{
    public const string TimeZone = "America/Chicago";

    /// <summary>How many days of history the town has when the demo starts.</summary>
    public const int PastDays = 14;

    public static IReadOnlyList<DemoSpot> Spots { get; } =
    [
        new(Spot("north-gate-plaza", "North Gate plaza", "North Gate", SurfaceKind.Asphalt, 37.4051, -97.0012),
            "north-gate", Conductivity: 1.0, HeatCapacity: 2.0e6, Absorptance: 0.89),
        new(Spot("orchard-green", "Orchard Green", "North Gate", SurfaceKind.Grass, 37.4058, -97.0030),
            "north-gate", Conductivity: 0.5, HeatCapacity: 1.8e6, Absorptance: 0.78) { EvaporatingShare = 0.78 },
        new(Spot("quarry-steps", "Quarry Steps", "Quarry", SurfaceKind.ConcretePale, 37.3987, -96.9951),
            "quarry", Conductivity: 1.5, HeatCapacity: 2.1e6, Absorptance: 0.60) { InSummer = new(8.75, 24), InWinter = new(11, 24) },
        new(Spot("mill-footbridge", "Mill Footbridge", "Mill", SurfaceKind.TimberDeck, 37.3969, -96.9990),
            "mill", Conductivity: 0.17, HeatCapacity: 1.2e6, Absorptance: 0.68) { InSummer = new(0, 17.5) },
        new(Spot("sandpit-corner", "Sandpit Corner", "Mill", SurfaceKind.Sand, 37.3975, -96.9978),
            "mill", Conductivity: 0.30, HeatCapacity: 1.3e6, Absorptance: 0.62),
    ];

    /// <summary>The gateway that loses its network for a while of each day.</summary>
    public const string GatewayThatGoesSilent = "quarry";

    public static IReadOnlyList<string> Gateways { get; } = [.. Spots.Select(spot => spot.Gateway).Distinct()];

    private static Spot Spot(
        string id, string name, string site, SurfaceKind surface, double latitude, double longitude) =>
        new(SpotId.Parse(id), name, surface, latitude, longitude, TimeZone) { Site = site };
}

/// <summary>A spot and what its ground is really like; only the demo's world knows the second half.</summary>
/// <param name="Spot">The spot as the business entered it.</param>
/// <param name="Gateway">The gateway whose probe looks at it.</param>
/// <param name="Conductivity">[W/(m·K)] Of the ground.</param>
/// <param name="HeatCapacity">[J/(m³·K)] Of the ground.</param>
/// <param name="Absorptance">[fraction] Share of the sun it takes up.</param>
internal sealed record DemoSpot(
    Spot Spot, string Gateway, double Conductivity, double HeatCapacity, double Absorptance)
{
    /// <summary>The spot's id, as the command's help says it.</summary>
    public override string ToString() => Spot.Id.Value;

    /// <summary>[fraction] Share of the net radiation that goes into evaporation by day.</summary>
    public double EvaporatingShare { get; init; }

    public DemoShade InSummer { get; init; } = DemoShade.None;

    /// <summary>The sun is low and goes round by the south; trees have no leaves.</summary>
    public DemoShade InWinter { get; init; } = DemoShade.None;
}

/// <summary>When no sun falls on a spot.</summary>
/// <param name="UntilLocalHour">Until then a building keeps it away.</param>
/// <param name="FromLocalHour">From then on trees do.</param>
internal readonly record struct DemoShade(double UntilLocalHour, double FromLocalHour)
{
    public static readonly DemoShade None = new(0, 24);
}
