using PavementWatch.Core.Alerts;
using PavementWatch.Core.Contact;
using PavementWatch.Core.Offsets;
using PavementWatch.Core.Readings;
using PavementWatch.Core.Surfaces;

namespace PavementWatch.Dashboards.Spots;

/// <summary>One spot as a walker sees it now.</summary>
/// <param name="Id">The spot.</param>
/// <param name="Name">Its name for people.</param>
/// <param name="Site">The place it belongs to.</param>
/// <param name="Surface">What the ground is made of.</param>
/// <param name="LatitudeDegrees">[°] North positive.</param>
/// <param name="LongitudeDegrees">[°] East positive.</param>
/// <param name="LimitCelsius">[°C] From here it is too hot.</param>
/// <param name="RadiusMeters">[m] How near a walker must be to hear of it.</param>
public sealed record SpotNow(
    SpotId Id, string Name, string Site, SurfaceKind Surface,
    double LatitudeDegrees, double LongitudeDegrees, double LimitCelsius, double RadiusMeters)
{
    /// <summary>IANA name of the spot's time zone; its times are shown in it.</summary>
    public string TimeZoneId { get; init; } = "Etc/UTC";

    /// <summary>[°C] At and under this walkers are told of the cold.</summary>
    public double ColdLimitCelsius { get; init; } = GroundWords.FreezingUpToCelsius;

    /// <summary>[°C] Measured or, when <see cref="Estimated"/>, estimated; <c>null</c> when nothing is known.</summary>
    public double? SurfaceCelsius { get; init; }

    /// <summary>[°C] Air.</summary>
    public double? AirCelsius { get; init; }

    /// <summary>Whether the surface temperature is an estimate and not a measurement.</summary>
    public bool Estimated { get; init; }

    /// <summary>Whether the surface temperature is of a reading that may be too cool, and neither a good one nor an estimate speaks beside it: only a warning of it is believed.</summary>
    public bool MayBeTooCool { get; init; }

    /// <summary>[°C] Lower end of the estimate's 90 % interval.</summary>
    public double? LowerCelsius { get; init; }

    /// <summary>[°C] Upper end of the estimate's 90 % interval; when estimated and the spot was ever measured both ends choose <see cref="Word"/>.</summary>
    public double? UpperCelsius { get; init; }

    /// <summary>How often such estimates held on the last days; <c>null</c> where it is measured or nobody can tell.</summary>
    public IntervalRecord? Record { get; init; }

    /// <summary>When the last good surface reading was taken, UTC; <c>null</c> when there never was one.</summary>
    public DateTimeOffset? MeasuredAt { get; init; }

    /// <summary>Doubt about the newest reading, or <see cref="Doubt.None"/>.</summary>
    public Doubt Doubt { get; init; }

    /// <summary>Why the estimate may be further off than its interval says; nothing when it is measured.</summary>
    public EstimateDoubt EstimateDoubt { get; init; }

    /// <summary>The word for it.</summary>
    public GroundWord Word { get; init; }

    /// <summary>The word for what it shows, at a limit.</summary>
    /// <param name="limitCelsius">[°C] The limit.</param>
    public GroundWord WordAt(double limitCelsius) =>
        Estimated ? GroundWords.ForEstimate(LowerCelsius, UpperCelsius, limitCelsius, everMeasured: MeasuredAt is not null)
        : MayBeTooCool ? GroundWords.ForDoubted(SurfaceCelsius, limitCelsius)
        : GroundWords.For(SurfaceCelsius, limitCelsius);

    /// <summary>Whether it may be icy: at or under freezing and wet, or under the air's dew point.</summary>
    public bool MayBeIcy { get; init; }

    /// <summary>
    /// After how long skin is hurt (ASTM C1055 curve, human skin standing in for paws), at the hot end of what is measured or estimated;
    /// <c>null</c> when unknown; capped at 10 min.
    /// </summary>
    public TimeSpan? ContactTime { get; init; }

    /// <summary>[°C] The hot end of what is measured or estimated, which <see cref="ContactTime"/> is of; <c>null</c> when unknown.</summary>
    public double? HottestCelsius { get; init; }

    /// <summary>[K] How far readings of this minute lie apart, one standard deviation, where that makes <see cref="ContactTime"/> clearly shorter; else <c>null</c>.</summary>
    public double? VaryingKelvin { get; init; }

    /// <summary>Where the alert stands.</summary>
    public AlertState State { get; init; }

    /// <summary>The change that brought it there; <c>null</c> before the first.</summary>
    public AlertDecision? Changed { get; init; }

    /// <summary>What stands here, of heat and of cold; nothing where nothing does.</summary>
    public IReadOnlyList<StandingAlert> Standing { get; init; } = [];

    /// <summary>Whether its watch fails: its alerts may be missing.</summary>
    public bool WatchFails { get; init; }

    /// <summary>The server's clock when this was made; ages are counted from it.</summary>
    public DateTimeOffset Now { get; init; }
}
