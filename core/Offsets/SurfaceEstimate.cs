namespace PavementWatch.Core.Offsets;

/// <summary>What the fitted offset says of a surface at one moment.</summary>
/// <param name="At">UTC.</param>
/// <param name="SurfaceCelsius">[°C] Expected surface temperature, right on average: what is shown and what a fit is judged by.</param>
/// <param name="LowerCelsius">[°C] Lower end of the 90 % interval.</param>
/// <param name="UpperCelsius">[°C] Upper end of the 90 % interval, further out on hot and sunny hours, see <see cref="IntervalEnds"/>; what alerts use when a spot is silent.</param>
public readonly record struct SurfaceEstimate(
    DateTimeOffset At, double SurfaceCelsius, double LowerCelsius, double UpperCelsius)
{
    /// <summary>[K] How much more a warning of the time ahead allows for, see <see cref="HotHourCorrection"/>; 0 or more, not past the upper end.</summary>
    public double LeanKelvin { get; init; }

    /// <summary>[°C] The surface temperature that warnings of the time ahead go by: the expected one and its lean.</summary>
    public double WarningCelsius => SurfaceCelsius + LeanKelvin;

    /// <summary>Why it may be further off than the interval says.</summary>
    public EstimateDoubt Doubt { get; init; }
}
