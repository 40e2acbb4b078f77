using CsCheck;
using PavementWatch.Core.Agreement;
using PavementWatch.Core.Readings;
using PavementWatch.Core.Surfaces;
using PavementWatch.Tests;

namespace PavementWatch.Core.Tests.Agreement;

/// <summary>Verdicts on simulated checks whose truth is known.</summary>
public class VerdictTests
{
    private static readonly AgreementThresholds Thresholds = new();

    [Theory]
    //          bias noise checks finding
    [InlineData(0.0, 0.5, 20, AgreementFinding.Agrees)]
    [InlineData(3.5, 0.5, 20, AgreementFinding.Biased)]
    [InlineData(-3.5, 0.5, 20, AgreementFinding.Biased)]
    // The thermometer may be off by as much itself.
    [InlineData(2.0, 0.5, 20, AgreementFinding.Undecided)]
    // Limits whose intervals reach over what is allowed.
    [InlineData(0.0, 1.5, 20, AgreementFinding.Undecided)]
    [InlineData(0.0, 4.0, 200, AgreementFinding.Scattered)]
    [InlineData(1.0, 0.8, 8, AgreementFinding.Undecided)]
    [InlineData(5.0, 0.5, 7, AgreementFinding.NotEnough)]
    public void A_simulated_sensor_gets_the_verdict_it_deserves(double bias, double noise, int checks, AgreementFinding expected)
    {
        var verdict = AgreementVerdict.Of(BlandAltman.Of(Checks(1, bias, noise, checks)), 3, Thresholds);
        Assert.Equal(expected, verdict.Finding);
    }

    [Theory]
    // Differences of b ± 0.5 K by turns, twenty of them: s = 0.5 √(20/19) = 0.513, the bias to ± t s/√20 = ± 0.240 with t = 2.093 for 19
    // (from tables), the limits b ± 1.005, each to ± t s √(1/20 + 1.96²/38) = ± 0.417.
    //          bias accuracy finding                      reason
    [InlineData(2.0, 0.7, AgreementFinding.Biased, AgreementReason.BiasTooLarge)]
    [InlineData(2.0, 0.8, AgreementFinding.Undecided, AgreementReason.BiasMayBeTheThermometers)]
    [InlineData(-2.0, 0.7, AgreementFinding.Biased, AgreementReason.BiasTooLarge)]
    [InlineData(-2.0, 0.8, AgreementFinding.Undecided, AgreementReason.BiasMayBeTheThermometers)]
    [InlineData(0.0, 0.1, AgreementFinding.Agrees, AgreementReason.WithinBoth)]
    [InlineData(0.0, 5.0, AgreementFinding.Agrees, AgreementReason.WithinBoth)]
    public void What_the_thermometer_may_be_off_itself_is_not_held_against_the_sensors_bias(
        double bias, double accuracy, AgreementFinding finding, AgreementReason reason)
    {
        var verdict = AgreementVerdict.Of(
            BlandAltman.Of(ByTurns(bias, 0.5)), 3, new AgreementThresholds { ThermometerAccuracyKelvin = accuracy });
        Assert.Equal((finding, reason, accuracy), (verdict.Finding, verdict.Because, verdict.Thresholds.ThermometerAccuracyKelvin));
    }

    [Theory]
    // As above with ± 1 K: the bias to ± 0.480, the limits b ± 2.011, each to ± 0.834. Of 1.4 ± 2.011 the upper lies at 3.411, its interval
    // begins at 2.576 and the other's ends at 0.224: 2.352 apart.
    //          furthest accuracy finding                      reason
    [InlineData(2.0, 0.5, AgreementFinding.Scattered, AgreementReason.LimitsTooFar)]
    [InlineData(2.0, 0.6, AgreementFinding.Undecided, AgreementReason.LimitsMayBeTheThermometers)]
    // As wide as that no thermometer that is off by the same everywhere makes it.
    [InlineData(1.17, 5.0, AgreementFinding.Scattered, AgreementReason.LimitsTooFar)]
    [InlineData(1.19, 5.0, AgreementFinding.Undecided, AgreementReason.LimitsMayBeTheThermometers)]
    public void What_the_thermometer_may_be_off_itself_moves_both_limits_of_agreement(
        double furthest, double accuracy, AgreementFinding finding, AgreementReason reason)
    {
        foreach (var bias in (double[])[1.4, -1.4])
        {
            var verdict = AgreementVerdict.Of(
                BlandAltman.Of(ByTurns(bias, 1)), 3,
                new AgreementThresholds { MostBiasKelvin = 3, MostDifferenceKelvin = furthest, ThermometerAccuracyKelvin = accuracy });
            Assert.Equal((finding, reason), (verdict.Finding, verdict.Because));
        }
    }

    [Theory]
    [InlineData(8, 3, AgreementReason.BiasTooLarge)]
    [InlineData(8, 2, AgreementReason.TooFewDays)]
    [InlineData(7, 3, AgreementReason.TooFewChecks)]
    [InlineData(0, 0, AgreementReason.TooFewChecks)]
    public void A_verdict_says_why(int checks, int days, AgreementReason expected)
    {
        // Differences of 3 and 4 K by turns.
        ComparedPair[] pairs = [.. Enumerable.Range(0, checks).Select(i => new ComparedPair(43 + (i % 2) + i, 40 + i))];
        var verdict = AgreementVerdict.Of(BlandAltman.Of(pairs), days, Thresholds);
        Assert.Equal((expected, days, checks), (verdict.Because, verdict.Days, verdict.Agreement?.Count ?? 0));
    }

    [Theory]
    [InlineData(AgreementFinding.Biased, AgreementFinding.Biased, Blame.Sensor)]
    [InlineData(AgreementFinding.Biased, AgreementFinding.Agrees, Blame.Sensor)]
    [InlineData(AgreementFinding.Scattered, AgreementFinding.Biased, Blame.Sensor)]
    [InlineData(AgreementFinding.Agrees, AgreementFinding.Biased, Blame.Offset)]
    [InlineData(AgreementFinding.Agrees, AgreementFinding.Scattered, Blame.Offset)]
    [InlineData(AgreementFinding.NotEnough, AgreementFinding.Biased, Blame.Offset)]
    [InlineData(AgreementFinding.Agrees, AgreementFinding.Agrees, Blame.Nothing)]
    [InlineData(AgreementFinding.Agrees, AgreementFinding.NotEnough, Blame.Nothing)]
    [InlineData(AgreementFinding.NotEnough, AgreementFinding.Agrees, Blame.Nothing)]
    [InlineData(AgreementFinding.NotEnough, AgreementFinding.NotEnough, Blame.Unknown)]
    [InlineData(AgreementFinding.Undecided, AgreementFinding.Undecided, Blame.Unknown)]
    public void Sensor_and_offset_are_told_apart(AgreementFinding sensor, AgreementFinding estimate, Blame expected) =>
        Assert.Equal(expected, SpotVerdict.Of(new(sensor, default), new(estimate, default)).Blame);

    [Fact]
    public void An_offset_is_suggested_where_the_sensor_is_off_by_one()
    {
        var suggested = Recalibration.Of(Checks(1, 2.5, 0.5, 30), Thresholds);
        Assert.Equal((RecalibrationKind.Offset, 1.0), (suggested.Kind, suggested.Gain));
        Published.Near(-2.5, suggested.OffsetKelvin, 0.3, "By simulation: the sensor was made to read 2.5 K high");
        Published.Near(0.5, suggested.RemainingKelvin, 0.15, "By simulation: noise of 0.5 K remains");
    }

    [Fact]
    public void Two_points_are_suggested_where_the_sensors_gain_is_off()
    {
        var suggested = Recalibration.Of(Checks(1.06, -1, 0.3, 40), Thresholds);
        Assert.Equal(RecalibrationKind.TwoPoint, suggested.Kind);
        Published.Near(1 / 1.06, suggested.Gain, 0.01, "By simulation: the sensor's gain was made 1.06");
        Published.Near(1 / 1.06, suggested.OffsetKelvin, 0.5, "By simulation: and its offset -1 K");
    }

    [Fact]
    public void The_same_gain_over_a_narrow_span_is_corrected_by_an_offset()
    {
        var narrow = Checks(1.06, -1, 0.3, 40, from: 40, to: 48);
        Assert.Equal(RecalibrationKind.Offset, Recalibration.Of(narrow, Thresholds).Kind);
    }

    [Fact]
    public void Nothing_is_suggested_where_the_bias_may_be_chance()
    {
        var suggested = Recalibration.Of([.. Enumerable.Range(0, 10).Select(i => new ComparedPair(40 + i + (i % 2 == 0 ? 1 : -1), 40 + i))], Thresholds);
        Assert.Equal((RecalibrationKind.None, 1.0, 0.0), (suggested.Kind, suggested.Gain, suggested.OffsetKelvin));
    }

    [Theory]
    [InlineData(1.0, 12)]
    [InlineData(1.3, 0)]
    public void What_no_sensor_does_is_not_corrected_away(double gain, double bias)
    {
        var suggested = Recalibration.Of(Checks(gain, bias, 0.3, 40), Thresholds);
        Assert.Equal((RecalibrationKind.Implausible, 1.0, 0.0), (suggested.Kind, suggested.Gain, suggested.OffsetKelvin));
        Assert.True(Math.Abs(suggested.NeededOffsetKelvin) > 5 || suggested.NeededGain < 0.9);
    }

    [Fact]
    public void A_suggestion_never_makes_these_checks_agree_less() =>
        Gen.Select(Gen.Select(Gen.Double[20, 60], Gen.Double[-4, 4]).Array[8, 40], Gen.Double[0.9, 1.1]).Sample((raw, gain) =>
        {
            ComparedPair[] pairs = [.. raw.Select(r => new ComparedPair((gain * r.Item1) + r.Item2, r.Item1))];
            var suggested = Recalibration.Of(pairs, Thresholds);
            var corrected = Math.Sqrt(pairs.Average(p => Math.Pow((suggested.Gain * p.CheckedCelsius) + suggested.OffsetKelvin - p.ReferenceCelsius, 2)));
            Assert.Equal(suggested.RemainingKelvin, corrected, 1e-9);
            Assert.True(corrected <= BlandAltman.Of(pairs)!.RmseKelvin + 1e-9);
        });

    [Fact]
    public void Thresholds_out_of_range_are_refused()
    {
        Assert.Throws<ArgumentOutOfRangeException>(() => new AgreementThresholds { LeastPairs = 2 });
        Assert.Throws<ArgumentOutOfRangeException>(() => new AgreementThresholds { MostBiasKelvin = 0 });
        Assert.Throws<ArgumentOutOfRangeException>(() => new AgreementThresholds { MostDifferenceKelvin = double.NaN });
        Assert.Throws<ArgumentOutOfRangeException>(() => new AgreementThresholds { LeastSpanKelvin = -1 });
    }

    [Fact]
    public void A_hand_held_reading_is_put_right_for_its_emissivity_setting()
    {
        Published.Near(50, HandHeldReading.SurfaceCelsius(50, 0.95, 0.95, 20, 20), 1e-9, "By definition: the right setting and surroundings as warm as the air change nothing");
        Published.Near(62.2905, HandHeldReading.SurfaceCelsius(60, 1, 0.93, 25, 25), 5e-5, "Planck's law over 8 to 14 µm, computed in Python 3.11");
    }

    [Fact]
    public void A_hand_held_reading_is_put_right_for_the_sky_that_the_ground_reflects()
    {
        var sky = ReflectedSky.Celsius(HandHeldReading.Band, 30, 12, 0.8);
        Published.Near(49, HandHeldReading.SurfaceCelsius(47.3662, 0.95, 0.95, 30, sky), 5e-4,
            "what a thermometer set to 0.95 shows of ground at 49 °C under Idso's sky of 12 hPa, Planck's law over 8 to 14 µm in Python 3.11");
    }

    [Fact]
    public void What_a_thermometer_shows_is_put_right_to_what_it_was_shown_of() =>
        Gen.Select(Gen.Double[-30, 90], Gen.Double[0.85, 1], Gen.Double[0.85, 0.99], Gen.Double[-20, 45], Gen.Double[0, 20]).Sample((surface, setting, emissivity, air, sky) =>
            Assert.Equal(surface, HandHeldReading.SurfaceCelsius(
                HandHeldReading.ShownCelsius(surface, setting, emissivity, air, air - sky), setting, emissivity, air, air - sky), 1e-6));

    [Fact]
    public void A_check_is_held_against_the_nearest_good_reading_within_five_minutes()
    {
        var at = new DateTimeOffset(2026, 7, 15, 14, 0, 0, TimeSpan.Zero);
        var spot = SpotId.Parse("quarry-steps");
        Reading Make(double minutes, double? surface = 50, ReadingQuality quality = ReadingQuality.Good) =>
            new(spot, at.AddMinutes(minutes)) { SurfaceCelsius = surface, Quality = quality };

        Assert.Null(NearestReading.Find([], at));
        Assert.Null(NearestReading.Find([Make(-5.01), Make(5.01)], at));
        Assert.Equal(-5, Offset(NearestReading.Find([Make(-30), Make(-5), Make(30)], at)));
        Assert.Equal(5, Offset(NearestReading.Find([Make(-30), Make(5)], at)));
        Assert.Equal(1, Offset(NearestReading.Find([Make(-3), Make(1), Make(2)], at)));
        Assert.Equal(-2, Offset(NearestReading.Find([Make(-2), Make(2)], at)));
        Assert.Equal(-3, Offset(NearestReading.Find([Make(-3), Make(-1, null), Make(0, 50, ReadingQuality.Suspect)], at)));

        double? Offset(Reading? reading) => (reading?.MeasuredAt - at)?.TotalMinutes;
    }

    private static ComparedPair[] ByTurns(double bias, double deviation) =>
        [.. Enumerable.Range(0, 20).Select(i => new ComparedPair(40 + i + bias + (i % 2 == 0 ? deviation : -deviation), 40 + i))];

    private static ComparedPair[] Checks(double gain, double bias, double noise, int count, double from = 25, double to = 60)
    {
        var random = new Random(7);
        return
        [
            .. Enumerable.Range(0, count).Select(i =>
            {
                var truth = from + ((to - from) * i / (count - 1));
                return new ComparedPair((gain * truth) + bias + (noise * BlandAltmanTests.Normal(random)), truth);
            }),
        ];
    }
}
