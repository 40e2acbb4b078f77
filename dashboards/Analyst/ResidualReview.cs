using PavementWatch.Core.Agreement;
using PavementWatch.Core.Offsets;

namespace PavementWatch.Dashboards.Analyst;

/// <summary>Residuals (measured minus estimated) of the fit in use.</summary>
/// <param name="Days">[days] How far back they reach.</param>
/// <param name="Points">As if the sensor had been dark, in time order.</param>
/// <param name="Aged">With the last surface reading of some ages.</param>
/// <param name="Calibration">What intervals promise and hold, narrowest first.</param>
/// <param name="CalibratedOnUnseen">Whether that rests on moments the fit has not learned from.</param>
public sealed record ResidualReview(
    int Days,
    IReadOnlyList<ResidualPoint> Points,
    IReadOnlyList<AgedResidual> Aged,
    IReadOnlyList<IntervalCoverage> Calibration,
    bool CalibratedOnUnseen);

/// <summary>One moment.</summary>
/// <param name="At">When, UTC.</param>
/// <param name="ResidualKelvin">[K] Measured minus estimated.</param>
/// <param name="LocalHour">[h] Hour of the spot's own clock, 0 to 24.</param>
/// <param name="SunDegrees">[°] The sun above the horizon, negative below.</param>
/// <param name="AirCelsius">[°C] The air.</param>
/// <param name="Learned">Whether the fit has learned from this moment, so that its residual flatters it.</param>
public readonly record struct ResidualPoint(
    DateTimeOffset At, double ResidualKelvin, double LocalHour, double SunDegrees, double AirCelsius, bool Learned)
{
    /// <summary>[m/s] The wind a station observed; <c>null</c> where none did.</summary>
    public double? WindMetersPerSecond { get; init; }

    /// <summary>[W/m²] The sun a station measured; <c>null</c> where none did.</summary>
    public double? SolarWattsPerSquareMeter { get; init; }

    /// <summary>Why the estimate may be further off than its interval says.</summary>
    public EstimateDoubt Doubt { get; init; }

    /// <summary>Whether the reading was inside the 90 % interval.</summary>
    public bool Inside { get; init; }
}

/// <summary>A residual with a last surface reading behind it.</summary>
/// <param name="AgeHours">[h] How old that reading was.</param>
/// <param name="ResidualKelvin">[K] Measured minus estimated.</param>
public readonly record struct AgedResidual(double AgeHours, double ResidualKelvin);
