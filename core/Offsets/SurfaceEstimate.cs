namespace PavementWatch.Core.Offsets;

/// <summary>What the fitted offset says of a surface at one moment.</summary>
/// <param name="At">UTC.</param>
/// <param name="SurfaceCelsius">[°C] Most likely surface temperature.</param>
/// <param name="LowerCelsius">[°C] Lower end of the 90 % interval.</param>
/// <param name="UpperCelsius">[°C] Upper end of the 90 % interval; what alerts use when a spot is silent.</param>
public readonly record struct SurfaceEstimate(
    DateTimeOffset At, double SurfaceCelsius, double LowerCelsius, double UpperCelsius)
{
    /// <summary>Why it may be further off than the interval says.</summary>
    public EstimateDoubt Doubt { get; init; }
}
