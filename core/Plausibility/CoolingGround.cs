using PavementWatch.Core.Sun;
using PavementWatch.Core.Surfaces;

namespace PavementWatch.Core.Plausibility;

/// <summary>How fast ground can cool when the sun is taken from it: <see cref="StepHeating"/> turned over, a step of flux out of a half-space.</summary>
internal static class CoolingGround
{
    // A gust on a calm day, and a sky that clears by night. Common practice, no source.
    private const double GustWattsPerSquareMeterKelvin = 10;
    private const double OpenSkyWattsPerSquareMeter = 100;

    // Slabs are thinner than a half-space; as the gateway has it. Our choice.
    private const double MostEffusivity = 1000;

    private static readonly TimeSpan LongestCooling = TimeSpan.FromHours(2);

    /// <summary>[K] The most it can fall in a time; without end for a grate, which follows at once.</summary>
    public static double MostFallKelvin(Spot spot, SeenSurface from, TimeSpan time)
    {
        if (spot.Surface == SurfaceKind.MetalGrate)
            return double.PositiveInfinity;
        var kind = SurfaceCatalogue.Of(spot.Surface);
        var flux = kind.AbsorptanceFraction.High * ClearSun(spot, from.At)
            + GustWattsPerSquareMeterKelvin * Math.Max(0, from.SurfaceCelsius - (from.AirCelsius ?? from.SurfaceCelsius))
            + OpenSkyWattsPerSquareMeter;
        return StepHeating.RiseKelvin(flux, Math.Min(kind.EffusivityWattRootSecondsPerSquareMeterKelvin.Low, MostEffusivity), time);
    }

    /// <summary>How long ground that is slow for its kind takes to fall so far in shade; two hours at most.</summary>
    public static TimeSpan TimeToFall(Spot spot, double fallKelvin, DateTimeOffset at)
    {
        if (spot.Surface == SurfaceKind.MetalGrate || !(fallKelvin > 0))
            return TimeSpan.Zero;
        var kind = SurfaceCatalogue.Of(spot.Surface);
        var flux = Math.Max(OpenSkyWattsPerSquareMeter, kind.AbsorptanceFraction.Value * ClearSun(spot, at));
        var effusivity = kind.EffusivityWattRootSecondsPerSquareMeterKelvin.High;
        return StepHeating.RiseKelvin(flux, effusivity, LongestCooling) <= fallKelvin
            ? LongestCooling
            : StepHeating.TimeToRise(fallKelvin, flux, effusivity);
    }

    private static double ClearSun(Spot spot, DateTimeOffset at) => ClearSky.GlobalWattsPerSquareMeter(
        SolarPosition.At(at, spot.LatitudeDegrees, spot.LongitudeDegrees).ElevationDegrees);
}
