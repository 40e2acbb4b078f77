namespace PavementWatch.Core.Offsets;

/// <summary>How high the sun stands, in three classes: errors are of different size in each, and so is the weather that goes with it.</summary>
internal static class SunHeight
{
    /// <summary>How many classes there are.</summary>
    public const int Classes = 3;

    private const double HighFromDegrees = 30;

    /// <summary>0 at night, 1 with a low sun, 2 with a high one.</summary>
    /// <param name="elevationDegrees">[°] Over the horizon.</param>
    public static int Of(double elevationDegrees) => elevationDegrees < 0 ? 0 : elevationDegrees < HighFromDegrees ? 1 : 2;
}
