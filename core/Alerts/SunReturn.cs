using PavementWatch.Core.Sun;
using PavementWatch.Core.Surfaces;

namespace PavementWatch.Core.Alerts;

/// <summary>How hot a spot may get when the sun comes back from behind a cloud, a van or a tree: what an all-clear has to outlast.</summary>
/// <remarks>
/// By <see cref="StepHeating"/> under a cloudless sky, as if no sun at all fell on the spot before, from the cautious ends of the
/// surface's handbook values. Bright edges of clouds, which may add a fifth for some minutes, are left out.
/// </remarks>
/// <param name="LatitudeDegrees">[°] North positive; −90 to 90 inclusive.</param>
/// <param name="LongitudeDegrees">[°] East positive; −180 to 180 inclusive.</param>
/// <param name="AbsorptanceFraction">[fraction] Share of sunlight taken in; 0 to 1.</param>
/// <param name="Effusivity">[W·s½/(m²·K)] The ground's effusivity; 0 for one that follows at once.</param>
public sealed record SunReturn(double LatitudeDegrees, double LongitudeDegrees, double AbsorptanceFraction, double Effusivity)
{
    private const int Looks = 5;

    /// <summary>That of a spot.</summary>
    /// <param name="spot">The spot.</param>
    /// <returns>By its kind of surface. A grate lies in the air and follows at once.</returns>
    public static SunReturn Of(Spot spot)
    {
        ArgumentNullException.ThrowIfNull(spot);
        var kind = SurfaceCatalogue.Of(spot.Surface);
        return new SunReturn(
            spot.LatitudeDegrees,
            spot.LongitudeDegrees,
            kind.AbsorptanceFraction.High,
            spot.Surface == SurfaceKind.MetalGrate ? 0 : kind.EffusivityWattRootSecondsPerSquareMeterKelvin.Low);
    }

    /// <summary>The hottest it may be within a time.</summary>
    /// <param name="celsius">[°C] What it is at.</param>
    /// <param name="now">UTC.</param>
    /// <param name="within">The time from now on; not negative.</param>
    /// <returns>[°C] At least what it is at.</returns>
    public double Celsius(double celsius, DateTimeOffset now, TimeSpan within) =>
        celsius + StepHeating.RiseKelvin(MostFlux(now, within), Effusivity, within, StepHeating.CalmLossWattsPerSquareMeterKelvin);

    /// <summary>When it may be at a temperature at the soonest, with the sun back now.</summary>
    /// <param name="celsius">[°C] What it is at.</param>
    /// <param name="limitCelsius">[°C] The temperature.</param>
    /// <param name="now">UTC.</param>
    /// <param name="within">So far ahead it is asked; not negative.</param>
    /// <returns>The moment, UTC; <c>null</c> when it does not get so hot in this time.</returns>
    public DateTimeOffset? Reaches(double celsius, double limitCelsius, DateTimeOffset now, TimeSpan within)
    {
        if (Celsius(celsius, now, within) < limitCelsius)
            return null;
        return Effusivity == 0 || celsius >= limitCelsius
            ? now
            : now + StepHeating.TimeToRise(limitCelsius - celsius, MostFlux(now, within), Effusivity);
    }

    private double MostFlux(DateTimeOffset now, TimeSpan within) => AbsorptanceFraction * Enumerable.Range(0, Looks).Max(i =>
        ClearSky.GlobalWattsPerSquareMeter(
            SolarPosition.At(now + (within * i / (Looks - 1)), LatitudeDegrees, LongitudeDegrees).ElevationDegrees));
}
