namespace PavementWatch.Core.Alerts;

/// <summary>One good reading, as the trend needs it.</summary>
/// <param name="At">When it was taken, UTC.</param>
/// <param name="SurfaceCelsius">[°C] Surface temperature.</param>
public readonly record struct TrendPoint(DateTimeOffset At, double SurfaceCelsius);
