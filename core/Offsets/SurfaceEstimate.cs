namespace PavementWatch.Core.Offsets;

/// <summary>What the fitted offset says of a surface at one moment.</summary>
/// <param name="At">UTC.</param>
/// <param name="SurfaceCelsius">[°C] The surface temperature to act on: the middle of the interval, and on the hottest hours a little more.</param>
/// <param name="LowerCelsius">[°C] Lower end of the 90 % interval.</param>
/// <param name="UpperCelsius">[°C] Upper end of the 90 % interval; what alerts use when a spot is silent.</param>
public readonly record struct SurfaceEstimate(
    DateTimeOffset At, double SurfaceCelsius, double LowerCelsius, double UpperCelsius)
{
    /// <summary>[K] How much of <see cref="SurfaceCelsius"/> is its lean to the warm side, see <see cref="HotHourCorrection"/>; 0 or more.</summary>
    public double LeanKelvin { get; init; }

    /// <summary>[°C] Expected surface temperature, the middle of the interval: what a fit is judged by.</summary>
    public double ExpectedCelsius => SurfaceCelsius - LeanKelvin;

    /// <summary>Why it may be further off than the interval says.</summary>
    public EstimateDoubt Doubt { get; init; }
}
