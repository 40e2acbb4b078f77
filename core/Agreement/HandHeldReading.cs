using PavementWatch.Core.Quantities;
using PavementWatch.Core.Surfaces;

namespace PavementWatch.Core.Agreement;

/// <summary>A hand-held infrared thermometer's reading, put right for the emissivity it was set to.</summary>
public static class HandHeldReading
{
    /// <summary>The surface's temperature.</summary>
    /// <param name="shownCelsius">[°C] What the thermometer showed; above −273.15.</param>
    /// <param name="settingFraction">[fraction] The emissivity it was set to; <see cref="QuantityRanges.ThermometerEmissivity"/>.</param>
    /// <param name="surfaceFraction">[fraction] The surface's emissivity; <see cref="QuantityRanges.SurfaceEmissivity"/>.</param>
    /// <param name="reflectedCelsius">[°C] What the surface reflects: the air's temperature below trees and walls, far less below a clear sky.</param>
    /// <returns>[°C] The surface; what was shown when both emissivities are the same.</returns>
    /// <exception cref="ArgumentOutOfRangeException">A value is not a number or outside its range.</exception>
    /// <remarks>A grey surface, and a thermometer that takes the same surroundings into account (<see cref="GreyBody"/>).</remarks>
    public static double SurfaceCelsius(
        double shownCelsius, double settingFraction, double surfaceFraction, double reflectedCelsius) =>
        GreyBody.SurfaceCelsius(
            GreyBody.ApparentCelsius(shownCelsius, reflectedCelsius, QuantityRanges.ThermometerEmissivity.Require(settingFraction)), reflectedCelsius, surfaceFraction);
}
