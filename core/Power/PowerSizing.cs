namespace PavementWatch.Core.Power;

/// <summary>How long a battery lasts, and what panel keeps it full: plain arithmetic, every step readable.</summary>
public sealed record PowerSizing
{
    private PowerSizing(PowerRequest request)
    {
        Request = request;
        UsableFraction = request.UsableFraction ?? Battery.UsableFraction(request.Kind);
        CapacityFraction = Battery.CapacityFraction(request.Kind, request.BatteryCelsius);
    }

    /// <summary>What was asked.</summary>
    public PowerRequest Request { get; }

    /// <summary>[fraction] Share of the battery that is used.</summary>
    public double UsableFraction { get; }

    /// <summary>[fraction] What the cold leaves.</summary>
    public double CapacityFraction { get; }

    /// <summary>[Wh] Energy there is between full and as empty as allowed.</summary>
    public double UsableWattHours => Request.BatteryWattHours * UsableFraction * CapacityFraction;

    /// <summary>[Wh] Energy the load takes in 24 h.</summary>
    public double LoadWattHoursPerDay => Request.LoadWatts * 24;

    /// <summary>[d] How long a full battery lasts without any sun.</summary>
    public double DaysOfAutonomy => UsableWattHours / LoadWattHoursPerDay;

    /// <summary>[Wh] Printed energy a battery must have to last the wanted days.</summary>
    public double BatteryWattHoursNeeded => Request.WantedDays * LoadWattHoursPerDay / (UsableFraction * CapacityFraction);

    /// <summary>[Wh] Energy the panel brings to the load a day; <c>null</c> without panel or sun hours.</summary>
    public double? PanelWattHoursPerDay => Request.PanelWatts * Request.PeakSunHours * (1 - Request.LossFraction);

    /// <summary>[Wh] What the panel brings beyond the load, negative when it brings less; <c>null</c> without panel or sun hours.</summary>
    public double? SurplusWattHoursPerDay => PanelWattHoursPerDay - LoadWattHoursPerDay;

    /// <summary>[d] From as empty as allowed to full, beside the load; <c>null</c> when that never happens.</summary>
    public double? DaysToRefill => SurplusWattHoursPerDay is > 0 and var surplus ? UsableWattHours / surplus : null;

    /// <summary>[W] Panel that carries the load and refills the battery in the wanted days; <c>null</c> without sun hours.</summary>
    public double? PanelWattsNeeded =>
        (LoadWattHoursPerDay + UsableWattHours / Request.RefillDays) / (Request.PeakSunHours * (1 - Request.LossFraction));

    /// <summary>Whether a full battery lasts the wanted days.</summary>
    public bool LastsLongEnough => DaysOfAutonomy >= Request.WantedDays;

    /// <summary>Whether the battery would be charged too cold in the nights asked about.</summary>
    public bool ChargesTooCold =>
        Request.Kind == BatteryKind.LithiumIronPhosphate && Request.BatteryCelsius < Battery.LithiumLeastChargeCelsius;

    /// <summary>Does the arithmetic.</summary>
    /// <param name="request">What there is, and what it must feed.</param>
    /// <returns>The answer.</returns>
    /// <exception cref="ArgumentNullException">No request.</exception>
    /// <exception cref="ArgumentOutOfRangeException">A value of the request is not a number or outside its range; names the value.</exception>
    public static PowerSizing Of(PowerRequest request)
    {
        ArgumentNullException.ThrowIfNull(request);
        RequireOver0(request.BatteryWattHours, 100_000, nameof(PowerRequest.BatteryWattHours));
        RequireOver0(request.LoadWatts, 1000, nameof(PowerRequest.LoadWatts));
        RequireOver0(request.UsableFraction ?? 1, 1, nameof(PowerRequest.UsableFraction));
        Require(request.BatteryCelsius, Battery.MinCelsius, Battery.MaxCelsius, nameof(PowerRequest.BatteryCelsius));
        RequireOver0(request.PanelWatts ?? 1, 10_000, nameof(PowerRequest.PanelWatts));
        RequireOver0(request.PeakSunHours ?? 1, 12, nameof(PowerRequest.PeakSunHours));
        Require(request.LossFraction, 0, 0.9, nameof(PowerRequest.LossFraction));
        Require(request.WantedDays, 0.5, 60, nameof(PowerRequest.WantedDays));
        Require(request.RefillDays, 0.5, 60, nameof(PowerRequest.RefillDays));
        return new PowerSizing(request);
    }

    private static void Require(double value, double min, double max, string name)
    {
        if (!(value >= min && value <= max))
            throw new ArgumentOutOfRangeException(name, value, $"expected {min} to {max}");
    }

    private static void RequireOver0(double value, double max, string name)
    {
        if (!(value > 0 && value <= max))
            throw new ArgumentOutOfRangeException(name, value, $"expected over 0 to {max}");
    }
}
