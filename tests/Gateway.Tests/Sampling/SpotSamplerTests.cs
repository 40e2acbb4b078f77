using CsCheck;
using PavementWatch.Core.Readings;
using PavementWatch.Core.Surfaces;
using PavementWatch.Gateway.Buses;
using PavementWatch.Gateway.Sampling;
using PavementWatch.Gateway.Sensors;
using PavementWatch.Gateway.Spots;
using PavementWatch.Tests;

namespace PavementWatch.Gateway.Tests.Sampling;

public sealed class SpotSamplerTests
{
    [Fact]
    public void A_quiet_minute_gives_a_good_reading_of_everything()
    {
        var script = new SpotScript();
        var reading = script.Minute(45.5);
        Assert.Equal(ReadingQuality.Good, reading.Quality);
        Assert.Equal(Doubt.None, reading.Doubt);
        Assert.Equal(script.Now, reading.MeasuredAt);
        Published.Near(45.5, reading.SurfaceCelsius!.Value, 0.005, "by definition");
        Assert.Equal(30, reading.AirCelsius);
        Assert.Equal(40, reading.HumidityPercent);
        Assert.Equal(32, reading.SensorCelsius);
    }

    [Fact]
    public void The_centre_is_hubers_so_one_wild_sample_hardly_moves_it()
    {
        // `chem` of R's MASS as if it were a surface: the mean is 4.28.
        double[] chem =
        [
            2.90, 3.10, 3.40, 3.40, 3.70, 3.70, 2.80, 2.50, 2.40, 2.40, 2.70, 2.20,
            5.28, 3.37, 3.03, 3.03, 28.95, 3.77, 3.40, 2.20, 3.50, 3.60, 3.70, 3.70,
        ];
        var script = new SpotScript();
        foreach (var value in chem)
            script.Take(value);
        var reading = script.Close()!;
        Published.Near(3.20672412964, reading.SurfaceCelsius!.Value, 0.00051, "R 4.2.2, MASS 7.3-58.2, huber(chem, k = 1.5)");
        // What the centre leaves out is told all the same.
        Published.Near(5.297395979787302, reading.SpreadKelvin!.Value, 0.00051, "the same data, statistics.stdev of Python 3.11");
    }

    [Fact]
    public void How_far_the_samples_lay_apart_is_told_of_three_and_more_in_a_whole_interval()
    {
        var script = new SpotScript();
        // Twelve samples, four at each of -0.02, 0 and 0.02: √(8 · 0.02² / 11), by definition.
        Assert.Equal(0.017, script.Minute(45).SpreadKelvin!.Value, 6);
        script.Take(45);
        script.Take(47);
        Assert.Null(script.Close()!.SpreadKelvin);
        foreach (var surface in (double[])[45, 47, 46])
            script.Take(surface);
        Assert.Equal(1, script.Close()!.SpreadKelvin!.Value, 3);
        script.Minute(50);
        Assert.Null(Assert.Single(script.EarlyOnes).SpreadKelvin);
    }

    [Fact]
    public void Samples_that_lie_wildly_apart_are_told_as_far_as_the_range_goes_and_reject_nothing()
    {
        var script = new SpotScript();
        foreach (var surface in (double[])[45, 45, 400])
            script.Take(surface);
        var reading = script.Close()!;
        Assert.Equal((45, 100), (Math.Round(reading.SurfaceCelsius!.Value, 2), reading.SpreadKelvin));
        Assert.Equal(ReadingQuality.Suspect, reading.Quality);
    }

    [Theory]
    [InlineData(0.93, 0.0, InfraredBand.Wide, 40)]
    [InlineData(0.95, 0.8, InfraredBand.Wide, 40)]
    [InlineData(0.90, 1.0, InfraredBand.Wide, 20)]
    [InlineData(0.95, 0.8, InfraredBand.Window, 40)]
    [InlineData(0.90, 1.0, InfraredBand.Window, 75)]
    public void Emissivity_and_sky_are_corrected_for(double emissivity, double openSky, InfraredBand band, double humidity) =>
        Published.Near(61.25, new SpotScript(emissivity, openSky) { Band = band, Humidity = humidity }.Minute(61.25).SurfaceCelsius!.Value, 0.005, "by definition");

    [Fact]
    public void A_probe_that_says_what_air_never_is_stops_nothing()
    {
        var script = new SpotScript(0.95, 0.8) { Air = 130, Humidity = 119 };
        script.Take(new ReadOutcome.Measured(new ProbeValues { ApparentCelsius = 45, SensorCelsius = 60 }));
        Assert.InRange(script.Close()!.SurfaceCelsius!.Value, 40, 46);
    }

    [Fact]
    public void Air_that_cannot_be_is_left_out_and_the_ground_beside_it_is_good()
    {
        var script = new SpotScript { Air = 61.2, Humidity = 101, Body = 58 };
        var reading = script.Minute(63);
        Assert.Equal((ReadingQuality.Good, Doubt.None, null, null), (reading.Quality, reading.Doubt, reading.AirCelsius, reading.HumidityPercent));
        Published.Near(63, reading.SurfaceCelsius!.Value, 0.005, "by definition");
        Assert.Equal(ReadingQuality.Good, Assert.Single(script.EarlyOnes).Quality);
    }

    [Theory]
    [InlineData(9, Doubt.SensorHeating)]
    [InlineData(12, Doubt.None)]
    public void A_body_is_held_against_air_that_was_measured_not_long_ago(int minutes, Doubt doubt)
    {
        var script = new SpotScript { Air = 30, Body = 44 };
        script.Minute(50);
        script.AirAnswers = false;
        Reading last = null!;
        for (var minute = 1; minute <= minutes; minute++)
        {
            script.Body += 0.5;
            last = script.Minute(50);
        }

        Assert.Equal(doubt, last.Doubt);
    }

    [Fact]
    public void The_first_three_samples_over_the_limit_send_a_reading_at_once()
    {
        var script = new SpotScript();
        script.Minute(48.2);
        script.Take(48.8);
        script.Take(49.1);
        Assert.Empty(script.EarlyOnes);
        script.Take(49.1);
        Assert.Equal(49.1, Assert.Single(script.EarlyOnes).SurfaceCelsius!.Value, 6);
        Assert.Equal(ReadingQuality.Good, script.EarlyOnes[0].Quality);
        for (var i = 0; i < 9; i++)
            script.Take(49.5);
        Assert.True(script.Close()!.MeasuredAt > script.EarlyOnes[0].MeasuredAt);
        script.Minute(50.5);
        Assert.Single(script.EarlyOnes);
    }

    [Fact]
    public void One_wild_sample_over_the_limit_sends_nothing_early()
    {
        var script = new SpotScript();
        script.Minute(45);
        script.Take(45);
        script.Take(80);
        script.Take(45);
        script.Take(45);
        Assert.Empty(script.EarlyOnes);
    }

    [Fact]
    public void It_is_sent_early_again_only_after_it_was_clearly_below_the_limit()
    {
        var script = new SpotScript();
        script.Minute(50);
        Assert.Single(script.EarlyOnes);
        script.Minute(48.8);
        script.Minute(49.2);
        Assert.Single(script.EarlyOnes);
        script.Minute(48.2);
        script.Minute(49.2);
        Assert.Equal(2, script.EarlyOnes.Count);
    }

    [Theory]
    [InlineData(49.0001, 1)]
    [InlineData(48.9999, 0)]
    public void From_the_limit_on_it_is_too_hot(double surface, int early)
    {
        var script = new SpotScript(limit: 49);
        for (var i = 0; i < 3; i++)
            script.Take(surface);
        Assert.Equal(early, script.EarlyOnes.Count);
    }

    [Fact]
    public void Half_the_samples_missing_is_still_good_and_one_more_is_suspect()
    {
        var script = new SpotScript();
        for (var i = 0; i < 12; i++)
        {
            if (i % 2 == 0)
                script.Take(45 + 0.01 * i);
            else
                script.Refuse(RejectReason.NoAnswer);
        }

        Assert.Equal(Doubt.None, script.Close()!.Doubt);
        for (var i = 0; i < 12; i++)
        {
            if (i < 5)
                script.Take(45 + 0.01 * i);
            else
                script.Refuse(RejectReason.NoAnswer);
        }

        var few = script.Close()!;
        Assert.Equal((ReadingQuality.Suspect, Doubt.FewSamples), (few.Quality, few.Doubt));
    }

    [Theory]
    [InlineData((int)RejectReason.CheckByte, Doubt.CheckByte | Doubt.FewSamples)]
    [InlineData((int)RejectReason.ErrorFlag, Doubt.CheckByte | Doubt.FewSamples)]
    [InlineData((int)RejectReason.OutOfRange, Doubt.OutOfRange | Doubt.FewSamples)]
    [InlineData((int)RejectReason.NoAnswer, Doubt.FewSamples)]
    public void A_minute_without_any_surface_is_rejected_with_its_reason_and_keeps_the_air(int reason, Doubt doubt)
    {
        var script = new SpotScript();
        for (var i = 0; i < 12; i++)
            script.Refuse((RejectReason)reason);
        var reading = script.Close()!;
        Assert.Equal(ReadingQuality.Rejected, reading.Quality);
        Assert.Equal(doubt, reading.Doubt);
        Assert.Null(reading.SurfaceCelsius);
        Assert.Equal(30, reading.AirCelsius);
    }

    [Fact]
    public void A_jump_no_surface_can_make_is_a_spike_until_it_has_held_for_three_minutes()
    {
        var script = new SpotScript();
        script.Minute(30);
        Assert.Equal(Doubt.Spike, script.Minute(70).Doubt);
        Assert.Equal(Doubt.Spike, script.Minute(70.5).Doubt);
        Assert.Equal(Doubt.None, script.Minute(71).Doubt);
        Assert.Equal(Doubt.None, script.Minute(71.2).Doubt);
    }

    [Fact]
    public void A_fall_no_surface_can_make_is_doubted_however_long_it_holds()
    {
        var script = new SpotScript(limit: 52);
        script.Minute(51);
        for (var minute = 0; minute < 60; minute++)
            Assert.Equal(Doubt.Spike, script.Minute(25).Doubt);
        Assert.Equal(Doubt.None, script.Minute(47).Doubt);
        Assert.Equal(Doubt.None, script.Minute(47).Doubt);
    }

    [Fact]
    public void A_fall_that_has_held_for_longer_than_the_ground_needs_to_cool_and_an_hour_is_believed()
    {
        var script = new SpotScript(limit: 52);
        script.Minute(51);
        var doubted = 0;
        while (script.Minute(25).Doubt == Doubt.Spike)
            doubted++;
        // π·(26·922/2000)² is 452 s, by hand: 67 full minutes with the hour.
        Assert.Equal(67, doubted);
    }

    [Fact]
    public void A_fall_that_ends_over_the_limit_is_not_doubted()
    {
        var script = new SpotScript(limit: 45);
        script.Minute(80);
        Assert.Equal(Doubt.None, script.Minute(50).Doubt);
        Assert.Equal(Doubt.Spike, script.Minute(20).Doubt);
        // And whatever was doubted, heat is sent at once and good.
        for (var i = 0; i < 3; i++)
            script.Take(46);
        Assert.Equal(ReadingQuality.Good, script.EarlyOnes[^1].Quality);
    }

    [Fact]
    public void What_jumped_up_and_was_believed_may_fall_back()
    {
        var script = new SpotScript(limit: 52);
        script.Minute(30);
        for (var minute = 0; minute < 5; minute++)
            script.Minute(80);
        Assert.Equal(Doubt.None, script.Minute(31).Doubt);
    }

    [Fact]
    public void Going_back_to_where_it_was_after_a_spike_is_good()
    {
        var script = new SpotScript();
        script.Minute(30);
        Assert.Equal(Doubt.Spike, script.Minute(70).Doubt);
        Assert.Equal(Doubt.None, script.Minute(30.2).Doubt);
    }

    [Fact]
    public void A_cloud_passing_at_full_sun_is_no_spike()
    {
        var script = new SpotScript();
        // Losing 10 K in three minutes and gaining it back: within what 1000 W/m² do to asphalt in that time.
        foreach (var surface in (double[])[62, 62, 58, 54, 52, 52, 56, 60, 62])
            Assert.Equal(Doubt.None, script.Minute(surface).Doubt);
    }

    [Fact]
    public void Samples_scattered_within_the_minute_are_doubtful()
    {
        var script = new SpotScript();
        for (var i = 0; i < 12; i++)
            script.Take(i % 2 == 0 ? 40 : 47);
        Assert.Equal(Doubt.Spike, script.Close()!.Doubt);
    }

    [Theory]
    [InlineData(true, 5)]
    [InlineData(false, 30)]
    public void The_same_value_to_the_last_digit_is_stuck_after_minutes_by_infrared_and_after_half_an_hour_by_touch(bool infrared, int minutes)
    {
        var script = new SpotScript();
        for (var minute = 0; minute <= minutes + 2; minute++)
        {
            for (var i = 0; i < 12; i++)
            {
                if (infrared)
                    script.Take(41.23);
                else
                    script.Take(new ReadOutcome.Measured(new ProbeValues { ContactCelsius = 41.25 }));
            }

            Assert.Equal(minute < minutes ? Doubt.None : Doubt.Stuck, script.Close()!.Doubt);
        }

        Assert.Equal(Doubt.None, script.Minute(41.23).Doubt);
    }

    [Fact]
    public void A_sensor_body_warming_quickly_or_hotter_than_the_air_by_far_is_doubtful()
    {
        var script = new SpotScript { Body = 32 };
        script.Minute(50);
        script.Body = 32.9;
        Assert.Equal(Doubt.None, script.Minute(50).Doubt);
        script.Body = 34.1;
        Assert.Equal(Doubt.SensorHeating, script.Minute(50).Doubt);
        script.Body = 34.2;
        Assert.Equal(Doubt.None, script.Minute(50).Doubt);
        script.Air = 19;
        Assert.Equal(Doubt.SensorHeating, script.Minute(50).Doubt);
    }

    [Fact]
    public void A_surface_out_of_the_worlds_range_is_rejected()
    {
        var reading = new SpotScript().Minute(130);
        Assert.Equal(ReadingQuality.Rejected, reading.Quality);
        Assert.True(reading.Doubt.HasFlag(Doubt.OutOfRange));
    }

    [Fact]
    public void Nothing_sampled_gives_no_reading() => Assert.Null(new SpotScript().Close());

    [Fact]
    public void A_spots_own_air_goes_before_the_gateways()
    {
        var sampler = new SpotSampler(SpotScript.Plaza, new SpotOptions(), new SamplingOptions());
        var at = new DateTimeOffset(2025, 7, 14, 18, 0, 0, TimeSpan.Zero);
        sampler.Take(at,
        [
            Air("gateway", null, 30),
            Air("other", SpotId.Parse("steps"), 50),
            Air("own", SpotScript.Plaza, 33),
        ]);
        Assert.Equal(33, sampler.Close(at.AddMinutes(1))!.AirCelsius);

        ProbeSample Air(string name, SpotId? spot, double air) => new(
            name, ProbeKind.Sht3x, spot, at, new ReadOutcome.Measured(new ProbeValues { AirCelsius = air }));
    }

    [Fact]
    public void Whatever_two_of_twelve_samples_say_the_centre_stays_with_the_others() =>
        Gen.Select(Gen.Double[-20, 70], Gen.Double[-40, 110].Array[2], Gen.Double[-0.05, 0.05].Array[10]).Sample((level, wild, noise) =>
        {
            var script = new SpotScript();
            foreach (var n in noise)
                script.Take(level + n);
            foreach (var w in wild)
                script.Take(w);
            return Math.Abs(script.Close()!.SurfaceCelsius!.Value - level) < 0.15;
        });
}
