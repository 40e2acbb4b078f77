using PavementWatch.Core.Quantities;
using PavementWatch.Core.Surfaces;

namespace PavementWatch.Core.Agreement;

/// <summary>A hand-held infrared thermometer's reading, put right for the emissivity it was set to.</summary>
public static class HandHeldReading
{
    /// <summary>What most hand-held thermometers see.</summary>
    public const InfraredBand Band = InfraredBand.Window;

    /// <summary>[K] How far one may be off, either way, unless its data sheet says otherwise; common practice, no source.</summary>
    public const double AccuracyKelvin = 1.5;

    /// <summary>The surface's temperature.</summary>
    /// <param name="shownCelsius">[°C] What the thermometer showed; above −273.15.</param>
    /// <param name="settingFraction">[fraction] The emissivity it was set to; <see cref="QuantityRanges.ThermometerEmissivity"/>.</param>
    /// <param name="surfaceFraction">[fraction] The surface's emissivity; <see cref="QuantityRanges.SurfaceEmissivity"/>.</param>
    /// <param name="airCelsius">[°C] The air, which the thermometer takes its surroundings to be as warm as; −173.15 and up.</param>
    /// <param name="reflectedCelsius">[°C] What the surface reflects in <see cref="Band"/>: the air's temperature below trees and walls, far less below a clear sky.</param>
    /// <returns>[°C] The surface; what was shown when both emissivities are the same and the surroundings as warm as the air.</returns>
    /// <exception cref="ArgumentOutOfRangeException">A value is not a number or outside its range.</exception>
    /// <remarks>
    /// A grey surface (<see cref="GreyBody"/>). A thermometer set to an emissivity takes the rest to come from surroundings as
    /// warm as the air, its own housing (common practice, no source); what really came is the sky.
    /// </remarks>
    public static double SurfaceCelsius(
        double shownCelsius, double settingFraction, double surfaceFraction, double airCelsius, double reflectedCelsius) =>
        GreyBody.SurfaceCelsius(
            GreyBody.ApparentCelsius(shownCelsius, airCelsius, QuantityRanges.ThermometerEmissivity.Require(settingFraction), Band),
            reflectedCelsius, surfaceFraction, Band);

    /// <summary>What a thermometer shows of a surface: the inverse of <see cref="SurfaceCelsius"/>.</summary>
    /// <param name="surfaceCelsius">[°C] The surface; above −273.15.</param>
    /// <param name="settingFraction">[fraction] The emissivity it is set to; <see cref="QuantityRanges.ThermometerEmissivity"/>.</param>
    /// <param name="surfaceFraction">[fraction] The surface's emissivity; <see cref="QuantityRanges.SurfaceEmissivity"/>.</param>
    /// <param name="airCelsius">[°C] The air; −173.15 and up.</param>
    /// <param name="reflectedCelsius">[°C] What the surface reflects in <see cref="Band"/>.</param>
    /// <returns>[°C] What it shows.</returns>
    /// <exception cref="ArgumentOutOfRangeException">A value is not a number or outside its range.</exception>
    public static double ShownCelsius(
        double surfaceCelsius, double settingFraction, double surfaceFraction, double airCelsius, double reflectedCelsius) =>
        GreyBody.SurfaceCelsius(
            GreyBody.ApparentCelsius(surfaceCelsius, reflectedCelsius, surfaceFraction, Band),
            airCelsius, QuantityRanges.ThermometerEmissivity.Require(settingFraction), Band);
}
