namespace PavementWatch.Core.Readings;

/// <summary>Surface, air and humidity at one spot at one moment, with quality. Known by <c>(Spot, MeasuredAt)</c>.</summary>
/// <remarks>
/// A quantity that was not measured is <c>null</c>. Ranges are inclusive and enforced by <see cref="ReadingRange"/>,
/// which names the field at fault; this type only carries.
/// </remarks>
/// <param name="Spot">Where.</param>
/// <param name="MeasuredAt">End of the interval the reading stands for, UTC, whole milliseconds.</param>
public sealed record Reading(SpotId Spot, DateTimeOffset MeasuredAt)
{
    /// <summary>[°C] Temperature of the ground's surface, corrected for emissivity and sky.</summary>
    public double? SurfaceCelsius { get; init; }

    /// <summary>[°C] Temperature of the air in the shade.</summary>
    public double? AirCelsius { get; init; }

    /// <summary>[%] Relative humidity, 0 to 100.</summary>
    public double? HumidityPercent { get; init; }

    /// <summary>[°C] The infrared sensor's own temperature.</summary>
    public double? SensorCelsius { get; init; }

    /// <summary>[lx] Illuminance.</summary>
    public double? LightLux { get; init; }

    /// <summary>[V] Supply voltage of the gateway.</summary>
    public double? SupplyVolts { get; init; }

    /// <summary>[K] How far the samples of the surface lay apart in the interval, one standard deviation; <c>null</c> where nobody told. No store keeps it.</summary>
    public double? SpreadKelvin { get; init; }

    /// <summary>How far to trust it.</summary>
    public ReadingQuality Quality { get; init; } = ReadingQuality.Good;

    /// <summary>Why it is not good; <see cref="Doubt.None"/> when it is.</summary>
    public Doubt Doubt { get; init; }

    /// <summary>Whether its air and humidity may be used: a doubt about the surface says nothing of them.</summary>
    public bool HasSoundAir => Quality == ReadingQuality.Good
        || (Quality == ReadingQuality.Suspect && (Doubt & (Doubt.Clock | Doubt.OutOfRange)) == Doubt.None);

    /// <summary>Whether the ground may be hotter than it says: it fell too far, stands still, is wet, or lies under what is expected.</summary>
    public bool MayBeTooCool => Quality != ReadingQuality.Good && (Doubt & (Doubt.Spike | Doubt.Stuck | Doubt.Disagrees | Doubt.Wet)) != Doubt.None;

    /// <summary>Whether nothing is held against it but the warmth of the sensor's own body: a fit may learn from it with less weight.</summary>
    public bool IsOnlySensorHeating => Quality == ReadingQuality.Suspect && Doubt == Doubt.SensorHeating;
}
