using System.Globalization;

namespace PavementWatch.Core.Mounting;

/// <summary>Looks at a sensor's place and says what to change.</summary>
public static class MountingAdvice
{
    /// <summary>[m] Smallest spot that is not decided by one stone or joint. Common practice, no source.</summary>
    public const double SmallestSpotMeters = 0.05;

    /// <summary>[m] Largest spot that is likely one surface in one light. Common practice, no source.</summary>
    public const double LargestSpotMeters = 1.0;

    /// <summary>[°] Steepest tilt without loss: a maker's manual of infrared thermometers asks for at most 30° off perpendicular.</summary>
    public const double LargestTiltDegrees = 30;

    /// <summary>[m] From here a sensor is out of an adult's reach. Common practice, no source.</summary>
    public const double OutOfReachMeters = 2.4;

    /// <summary>[m] Least distance between the pole and the nearest point seen. Common practice, no source.</summary>
    public const double PoleClearanceMeters = 0.3;

    /// <summary>Advice on a place.</summary>
    /// <param name="spot">What the sensor sees.</param>
    /// <returns>What to change, then what to look after; never empty.</returns>
    /// <exception cref="ArgumentNullException">No spot.</exception>
    public static IReadOnlyList<MountingRemark> For(SensorFootprint spot)
    {
        ArgumentNullException.ThrowIfNull(spot);
        List<MountingRemark> remarks = [];
        if (spot.WidthMeters < SmallestSpotMeters)
        {
            remarks.Add(new(MountingConcern.SpotTooSmall, Say(
                $"The spot is only {spot.WidthMeters * 100:0.0} cm wide: one stone or joint decides. Mount higher, or take a wider field of view.")));
        }

        if (spot.LengthMeters > LargestSpotMeters)
        {
            remarks.Add(new(MountingConcern.SpotTooLarge, Say(
                $"The spot is {spot.LengthMeters:0.00} m long: surfaces and shadows mix in it. Mount lower, or take a narrower field of view.")));
        }

        if (spot.TiltDegrees > LargestTiltDegrees)
        {
            remarks.Add(new(MountingConcern.TooOblique, Say(
                $"A tilt of {spot.TiltDegrees:0}° looks flat over the ground and sees more sky mirrored in it. Keep it at {LargestTiltDegrees:0}° or less.")));
        }

        if (spot.HeightMeters < OutOfReachMeters)
        {
            remarks.Add(new(MountingConcern.WithinReach, Say(
                $"At {spot.HeightMeters:0.00} m people and dogs can reach it. Guard it, or mount at {OutOfReachMeters:0.0} m or more.")));
        }

        remarks.Add(spot.NearMeters < PoleClearanceMeters
            ? new(MountingConcern.PoleInView, Say(
                $"Put the sensor on an arm that reaches {PoleClearanceMeters - spot.NearMeters:0.00} m out from the pole, or the pole's foot is in view."))
            : new(MountingConcern.None, Say(
                $"The nearest point seen is {spot.NearMeters:0.00} m from the point below the sensor, clear of the pole.")));
        remarks.Add(new(MountingConcern.None, Say(
            $"Choose a patch of {spot.PatchDiameterMeters:0.00} m across, twice the spot: one surface, dry, no line, cover or joint, the same light all over.")));
        return remarks;
    }

    private static string Say(FormattableString text) => text.ToString(CultureInfo.InvariantCulture);
}
