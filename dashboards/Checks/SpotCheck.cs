using PavementWatch.Core.Readings;

namespace PavementWatch.Dashboards.Checks;

/// <summary>A hand-held thermometer's reading at a spot.</summary>
/// <param name="Spot">Where.</param>
/// <param name="At">When, UTC.</param>
/// <param name="ShownCelsius">[°C] What the thermometer showed.</param>
public sealed record SpotCheck(SpotId Spot, DateTimeOffset At, double ShownCelsius)
{
    /// <summary>[fraction] The emissivity it was set to; <c>null</c> for a thermometer that touches the ground.</summary>
    public double? EmissivityFraction { get; init; }

    /// <summary>What the ground was like.</summary>
    public CheckedGround Ground { get; init; }

    /// <summary>What it was measured with.</summary>
    public string Thermometer { get; init; } = "";

    /// <summary>Whatever else there is to say.</summary>
    public string Note { get; init; } = "";

    /// <summary>Name of whoever entered it; empty for the operator. Not part of what is entered.</summary>
    public string EnteredBy { get; init; } = "";
}
