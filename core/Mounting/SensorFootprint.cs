namespace PavementWatch.Core.Mounting;

/// <summary>The piece of level ground an infrared sensor sees: an ellipse, and a circle when it looks straight down.</summary>
/// <remarks>
/// The sensor's view is a cone whose full angle is the field of view. Makers state that angle where the sensitivity has
/// fallen to half, so some heat from beyond the edge counts too: see <see cref="PatchDiameterMeters"/>.
/// </remarks>
public sealed record SensorFootprint
{
    /// <summary>[m] Lowest height accepted.</summary>
    public const double MinHeightMeters = 0.05;

    /// <summary>[m] Greatest height accepted; above it no sensor of ours sees one surface only.</summary>
    public const double MaxHeightMeters = 20;

    /// <summary>[°] Narrowest field of view accepted.</summary>
    public const double MinFieldOfViewDegrees = 1;

    /// <summary>[°] Widest field of view accepted.</summary>
    public const double MaxFieldOfViewDegrees = 120;

    /// <summary>[°] The whole view must lie within this angle of straight down, or the far edge runs off to the horizon.</summary>
    public const double MaxEdgeDegrees = 85;

    private SensorFootprint()
    {
    }

    /// <summary>[m] Height of the sensor over the ground.</summary>
    public double HeightMeters { get; private init; }

    /// <summary>[°] Full angle of the sensor's cone of view.</summary>
    public double FieldOfViewDegrees { get; private init; }

    /// <summary>[°] Angle between the sensor's axis and straight down.</summary>
    public double TiltDegrees { get; private init; }

    /// <summary>[m] From the point under the sensor to the nearest point seen; below 0 it lies behind that point.</summary>
    public double NearMeters { get; private init; }

    /// <summary>[m] From the point under the sensor to the farthest point seen.</summary>
    public double FarMeters { get; private init; }

    /// <summary>[m] Extent across the direction of tilt; the diameter when there is no tilt.</summary>
    public double WidthMeters { get; private init; }

    /// <summary>[m] Extent in the direction of tilt.</summary>
    public double LengthMeters => FarMeters - NearMeters;

    /// <summary>[m] From the point under the sensor to the middle of what it sees.</summary>
    public double CenterMeters => (NearMeters + FarMeters) / 2;

    /// <summary>[m] Diameter of the patch that should be one surface, all in sun or all in shade.</summary>
    /// <remarks>Twice the spot, as makers' manuals of infrared thermometers ask ("target two times the spot size").</remarks>
    public double PatchDiameterMeters => 2 * LengthMeters;

    /// <summary>What a sensor sees.</summary>
    /// <param name="heightMeters">[m] Height over the ground; 0.05 to 20 inclusive.</param>
    /// <param name="fieldOfViewDegrees">[°] Full angle of the cone of view; 1 to 120 inclusive.</param>
    /// <param name="tiltDegrees">[°] Angle between its axis and straight down; 0 or more, and tilt plus half the field of view at most 85.</param>
    /// <returns>The spot.</returns>
    /// <exception cref="ArgumentOutOfRangeException">A value is not a number or outside its range.</exception>
    /// <remarks>
    /// Straight down: 2·h·tan(FOV/2). Tilted: a plane cuts the cone in an ellipse of eccentricity sin(tilt)/cos(FOV/2)
    /// (textbook conic section); its ends lie at h·tan(tilt ± FOV/2).
    /// </remarks>
    public static SensorFootprint From(double heightMeters, double fieldOfViewDegrees, double tiltDegrees = 0)
    {
        Require(heightMeters, MinHeightMeters, MaxHeightMeters, nameof(heightMeters));
        Require(fieldOfViewDegrees, MinFieldOfViewDegrees, MaxFieldOfViewDegrees, nameof(fieldOfViewDegrees));
        Require(tiltDegrees, 0, MaxEdgeDegrees - fieldOfViewDegrees / 2, nameof(tiltDegrees));

        var half = double.DegreesToRadians(fieldOfViewDegrees / 2);
        var tilt = double.DegreesToRadians(tiltDegrees);
        var near = heightMeters * Math.Tan(tilt - half);
        var far = heightMeters * Math.Tan(tilt + half);
        var eccentricity = Math.Sin(tilt) / Math.Cos(half);
        return new SensorFootprint
        {
            HeightMeters = heightMeters,
            FieldOfViewDegrees = fieldOfViewDegrees,
            TiltDegrees = tiltDegrees,
            NearMeters = near,
            FarMeters = far,
            WidthMeters = (far - near) * Math.Sqrt(1 - eccentricity * eccentricity),
        };
    }

    private static void Require(double value, double min, double max, string name)
    {
        if (!(value >= min && value <= max))
            throw new ArgumentOutOfRangeException(name, value, $"expected {min} to {max}");
    }
}
