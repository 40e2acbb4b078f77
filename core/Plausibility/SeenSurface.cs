using PavementWatch.Core.Readings;

namespace PavementWatch.Core.Plausibility;

/// <summary>A surface reading, and what was known beside it.</summary>
/// <param name="At">When it was measured, UTC.</param>
/// <param name="SurfaceCelsius">[°C] The surface.</param>
public sealed record SeenSurface(DateTimeOffset At, double SurfaceCelsius)
{
    /// <summary>[°C] The air; <c>null</c> where it was not measured.</summary>
    public double? AirCelsius { get; init; }

    /// <summary>[%] Relative humidity; <c>null</c> where it was not measured.</summary>
    public double? HumidityPercent { get; init; }

    /// <summary>[lx] Illuminance; <c>null</c> where it was not measured.</summary>
    public double? LightLux { get; init; }

    /// <summary>[°C] What the spot's fit expected without its sensor; <c>null</c> where it had learnt too little.</summary>
    public double? ExpectedCelsius { get; init; }

    /// <summary>[°C] Lower end of that; <c>null</c> likewise.</summary>
    public double? LowerCelsius { get; init; }

    /// <summary>What was doubted of it.</summary>
    public Doubt Doubt { get; init; }
}
