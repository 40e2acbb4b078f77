using CsCheck;
using PavementWatch.Core.Calibration;
using PavementWatch.Core.Surfaces;
using PavementWatch.Tests;

namespace PavementWatch.Core.Tests.Calibration;

public sealed class TwoPointCalibrationTests
{
    private static readonly CalibrationRule Rule = new();

    [Fact]
    public void Line_through_two_black_targets_agrees_with_the_sum_worked_by_hand()
    {
        const string byHand = "worked by hand: (50 − 0)/(49 − 1), 0 − gain · 1";
        var done = Calibrate(new(0, 1), new(50, 49));
        Published.Near(1.0416667, done.Calibration.Gain, 1e-7, byHand);
        Published.Near(-1.0416667, done.Calibration.OffsetKelvin, 1e-7, byHand);
        Published.Near(-1, done.ColdResidualKelvin, 1e-12, byHand);
        Published.Near(1, done.WarmResidualKelvin, 1e-12, byHand);
    }

    [Fact]
    public void A_grey_plate_is_allowed_for()
    {
        const string source = "check values 3.1: T_m 60 °C, T_r 25 °C, ε 0.95 is a true 61.5606 °C";
        var done = Calibrate(new(0, 0), new(61.5606, 60) { EmissivityFraction = 0.95, SurroundingsCelsius = 25 });
        Published.Near(0, done.WarmResidualKelvin, 1e-4, source);
        Published.Near(1, done.Calibration.Gain, 1e-5, source);
        Assert.True(done.ChangesNothingCertain);
    }

    [Fact]
    public void A_sensor_known_to_be_off_is_set_right() =>
        Gen.Select(Gen.Double[0.95, 1.05], Gen.Double[-1.5, 1.5], Gen.Double[-10, 20], Gen.Double[50, 80], Gen.Double[0.9, 1.0])
            .Sample((gain, offset, coldReference, warmReference, emissivity) =>
            {
                if (Math.Abs(coldReference) is > 0.7 and <= 3)
                    return;
                CalibrationPoint Seen(double reference)
                {
                    var shouldSay = GreyBody.ApparentCelsius(reference, 22, emissivity);
                    return new(reference, (shouldSay - offset) / gain) { EmissivityFraction = emissivity };
                }

                var done = Calibrate(Seen(coldReference), Seen(warmReference));
                Published.Near(gain, done.Calibration.Gain, 1e-9, "by definition: the error put in");
                Published.Near(offset, done.Calibration.OffsetKelvin, 1e-7, "by definition: the error put in");
            });

    [Fact]
    public void The_order_of_the_points_does_not_matter() =>
        Assert.Equal(Calibrate(new(0, 1), new(50, 49)).Calibration, Calibrate(new(50, 49), new(0, 1)).Calibration);

    [Theory]
    //          cold reference, measured; warm reference, measured; fault; part of the reason
    [InlineData(0, 0, 24.9, 24.9, CalibrationFault.TooClose, "expected at least 25 K")]
    [InlineData(0, 0, 0, 0, CalibrationFault.TooClose, "0.0 K apart")]
    [InlineData(0.71, 0.7, 50, 50, CalibrationFault.IceBath, "more crushed ice")]
    [InlineData(-3, -3, 50, 50, CalibrationFault.IceBath, "-3.00 °C in what looks like an ice bath")]
    [InlineData(0, 5.1, 50, 50, CalibrationFault.Implausible, "should say 0.0 °C and says 5.1 °C")]
    [InlineData(0, 0, 50, 44.9, CalibrationFault.Implausible, "should say 50.0 °C and says 44.9 °C")]
    [InlineData(10, 14, 36, 32, CalibrationFault.Implausible, "gain 1.444")]
    [InlineData(-10.1, -10, 50, 50, CalibrationFault.OutOfRange, "reference is -10.1 °C, expected -10 to 85 °C")]
    [InlineData(0, 0, 85.1, 85, CalibrationFault.OutOfRange, "reference is 85.1 °C")]
    [InlineData(0, 0, double.NaN, 50, CalibrationFault.OutOfRange, "reference is NaN")]
    [InlineData(0, double.NaN, 50, 50, CalibrationFault.OutOfRange, "measured is NaN")]
    public void What_cannot_be_right_is_refused_with_its_reason(
        double coldReference, double coldMeasured, double warmReference, double warmMeasured, CalibrationFault fault, string part)
    {
        var refused = Assert.IsType<CalibrationRefused>(
            TwoPointCalibration.Of(new(coldReference, coldMeasured), new(warmReference, warmMeasured), Rule));
        Assert.Equal(fault, refused.Fault);
        Assert.Contains(part, refused.Reason, StringComparison.Ordinal);
    }

    [Theory]
    [InlineData(0.7)]
    [InlineData(-0.7)]
    [InlineData(3.01)]
    [InlineData(-10)]
    public void An_ice_bath_within_the_thermometers_error_or_another_cold_bath_is_accepted(double cold) =>
        Calibrate(new(cold, cold), new(85, 85));

    [Fact]
    public void Points_exactly_far_enough_apart_are_accepted() => Calibrate(new(0, 0), new(25, 25));

    [Fact]
    public void Emissivity_and_surroundings_out_of_range_are_refused()
    {
        Assert.IsType<CalibrationRefused>(TwoPointCalibration.Of(new(0, 0), new(50, 50) { EmissivityFraction = 0.79 }, Rule));
        Assert.IsType<CalibrationRefused>(TwoPointCalibration.Of(new(0, 0), new(50, 50) { SurroundingsCelsius = 50.1 }, Rule));
    }

    [Fact]
    public void Uncertainty_agrees_with_the_sum_worked_by_hand()
    {
        // Without an error of emissivity or scatter: the thermometer's ±0.5 K rectangular, doubled; GUM 4.3.7 and 5.1.
        var rule = Rule with { EmissivityLimitFraction = 0 };
        var done = (Calibrated)TwoPointCalibration.Of(new(0, 0), new(50, 50), rule);
        Published.Near(0.57735, done.ExpandedUncertaintyKelvin(25), 1e-5, "worked by hand: 2 · 0.5/√3 between the points");
        Published.Near(0.57735, done.ExpandedUncertaintyKelvin(50), 1e-5, "worked by hand: 2 · 0.5/√3 at a point");
        Published.Near(1.29099, done.ExpandedUncertaintyKelvin(100), 1e-5, "worked by hand: 2 · 0.5/√3 · √(1² + 2²) twice as far out");
    }

    [Fact]
    public void Doubt_about_the_plates_emissivity_widens_the_uncertainty()
    {
        // Check values 3.1: 60 °C measured in 25 °C surroundings is 62.2252 °C at ε 0.93 and 61.5606 °C at ε 0.95: 0.02 less
        // changes the surface by 0.665 K, the sensor by 0.95 of that; with the thermometer 2 · √((0.5² + 0.631²)/3) = 0.930 K.
        var done = Calibrate(new(0, 0), new(61.5606, 60) { EmissivityFraction = 0.95, SurroundingsCelsius = 25 });
        Published.Near(0.930, done.ExpandedUncertaintyKelvin(60), 0.005, "worked by hand from check values 3.1");
        Assert.True(done.ExpandedUncertaintyKelvin(60) > done.ExpandedUncertaintyKelvin(40));
    }

    private static Calibrated Calibrate(CalibrationPoint one, CalibrationPoint other)
    {
        var outcome = TwoPointCalibration.Of(one, other, Rule);
        return outcome as Calibrated ?? throw new InvalidOperationException(((CalibrationRefused)outcome).Reason);
    }
}
