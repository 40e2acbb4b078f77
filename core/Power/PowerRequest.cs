namespace PavementWatch.Core.Power;

/// <summary>What a spot without mains has, and what it must feed.</summary>
/// <param name="BatteryWattHours">[Wh] Printed on the battery, or volts times ampere-hours; over 0 to 100 000 inclusive.</param>
/// <param name="LoadWatts">[W] Mean power of gateway, probes, lamp and modem, measured at the battery; over 0 to 1000 inclusive.</param>
public sealed record PowerRequest(double BatteryWattHours, double LoadWatts)
{
    /// <summary>
    /// [fraction] Of the sun's energy on the panel that does not arrive at the load: 1 − 0.86 · 0.90 · 0.90. The first factor
    /// is the default loss of 14 % of NREL's PVWatts (dirt, shade, wiring, mismatch, age); the others, a hot panel and a
    /// charge controller with battery, are common practice without source.
    /// </summary>
    public const double DefaultLossFraction = 0.30;

    /// <summary>What the battery is made of.</summary>
    public BatteryKind Kind { get; init; }

    /// <summary>[fraction] Of the battery that may be used, over 0 to 1 inclusive; the kind's when <c>null</c>.</summary>
    public double? UsableFraction { get; init; }

    /// <summary>[°C] Battery in the coldest nights it must last through; −20 to 50 inclusive.</summary>
    public double BatteryCelsius { get; init; }

    /// <summary>[W] Printed on the panel, over 0 to 10 000 inclusive; <c>null</c> for none.</summary>
    public double? PanelWatts { get; init; }

    /// <summary>[h] Peak-sun hours: a day's sun on the panel in kWh/m², in the worst month of use; over 0 to 12 inclusive.</summary>
    public double? PeakSunHours { get; init; }

    /// <summary>[fraction] Lost between panel and load; 0 to 0.9 inclusive.</summary>
    public double LossFraction { get; init; } = DefaultLossFraction;

    /// <summary>[d] Days without sun to last through; 0.5 to 60 inclusive. Three days: common practice, no source.</summary>
    public double WantedDays { get; init; } = 3;

    /// <summary>[d] Days in which an empty battery shall be full again beside the load; 0.5 to 60 inclusive. Common practice, no source.</summary>
    public double RefillDays { get; init; } = 3;
}
