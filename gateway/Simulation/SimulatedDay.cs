using PavementWatch.Core.Readings;

namespace PavementWatch.Gateway.Simulation;

/// <summary>The world of <c>--simulate</c>: every day the same clear summer's day, hottest early in the afternoon.</summary>
internal static class SimulatedDay
{
    public static TrueValues At(SpotId spot, DateTimeOffset at)
    {
        var sun = Math.Max(0, Math.Sin(Math.PI * (at.TimeOfDay.TotalHours - 6) / 12));
        var air = 20 + (11 * sun);
        var offset = spot.Value.EndsWith("lawn", StringComparison.Ordinal) ? 6 : 25;
        return new TrueValues(air + (offset * sun), air, 75 - (40 * sun)) { LightLux = 95_000 * sun };
    }
}
