namespace PavementWatch.Core.Contact;

/// <summary>What one moment says of a spot's ground, as far as ice is concerned.</summary>
/// <param name="At">UTC.</param>
/// <param name="SurfaceCelsius">[°C] The ground, or the lower end of what it may be at; NaN says nothing.</param>
/// <param name="Evidence">What speaks for it.</param>
public readonly record struct GroundSight(DateTimeOffset At, double SurfaceCelsius, GroundEvidence Evidence)
{
    // Saturation is rarely read as 100 %; fog and drizzle wet the ground.
    private const double WetHumidityPercent = 95;

    /// <summary>[°C] The air; <c>null</c> where it is not known.</summary>
    public double? AirCelsius { get; init; }

    /// <summary>[%] Its relative humidity; <c>null</c> where it is not known.</summary>
    public double? HumidityPercent { get; init; }

    /// <summary>Whether the ground is known to be wet, or may be by what an estimate says.</summary>
    public bool Wet { get; init; }

    /// <summary>Whether the word for it is freezing or bitter.</summary>
    internal bool IsFrozen => Ice.IsFrozen(SurfaceCelsius);

    /// <summary>Whether ice forms now: it is frozen and wet, or takes on frost, or nothing tells how damp the air is.</summary>
    internal bool TakesIce => IsFrozen && (Wet || (IsMeasured && Ice.MayForm(SurfaceCelsius, AirCelsius, HumidityPercent, Wet)));

    /// <summary>Whether the ground takes on water: it is known to be wet, dew falls on it, or the air is full of water.</summary>
    internal bool IsDamp => Wet || (IsMeasured && AirCelsius is { } air && HumidityPercent is { } humidity
        && (humidity >= WetHumidityPercent || Ice.IsUnderDewPoint(SurfaceCelsius, air, humidity)));

    // An estimate's air is not the ground's own.
    private bool IsMeasured => Evidence is GroundEvidence.Good or GroundEvidence.Doubtful;
}
