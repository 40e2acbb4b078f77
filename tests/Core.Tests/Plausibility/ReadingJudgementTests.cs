using CsCheck;
using PavementWatch.Core.Plausibility;
using PavementWatch.Core.Readings;
using PavementWatch.Core.Surfaces;

namespace PavementWatch.Core.Tests.Plausibility;

/// <summary>What is believed of a reading that is cooler than ground can be. Expected: design of the product, section 6; where physics decides it is worked by hand.</summary>
public sealed class ReadingJudgementTests
{
    private static readonly Spot Green = ReadingScript.Plaza with { Id = SpotId.Parse("orchard-green"), Surface = SurfaceKind.Grass };

    [Theory]
    //          green's expected and measured
    [InlineData(36, 36)]
    // Nearer to its lower end than to what is expected, as on one sunny day in five.
    [InlineData(38, 35.8)]
    public void A_van_over_the_sensor_stays_in_doubt_as_long_as_it_stands_there_beside_a_neighbour_in_the_sun(double expected, double measured)
    {
        var green = new ReadingScript(Green) { Expected = (expected, 4) };
        var plaza = new ReadingScript { Expected = (58, 5), Neighbours = [green] };
        for (var hour = 13; hour < 17; hour++)
        {
            green.Each($"{hour}:00", $"{hour}:59", measured);
            // The van's roof from 14:00.
            plaza.Each($"{hour}:00", $"{hour}:59", hour < 14 ? 58 : 36);
            plaza.Expect(hour < 14 ? Doubt.None : Doubt.Spike | Doubt.Disagrees);
        }

        green.Each("17:00", "17:01", measured);
        plaza.At("17:00", 57).Expect(Doubt.None);
    }

    [Theory]
    [InlineData(false)]
    // Known again only from 17:10 on.
    [InlineData(true)]
    public void A_neighbour_that_cools_as_every_evening_explains_no_van(bool isStarted)
    {
        var green = new ReadingScript(Green);
        var plaza = new ReadingScript { Neighbours = [green] };
        for (var minute = 0; minute < 150; minute++)
        {
            // 5 K an hour, the green as the plaza is expected to.
            var (clock, fallen) = ($"{16 + (minute / 60)}:{minute % 60:00}", 5 * minute / 60.0);
            if (!isStarted || minute >= 70)
                (green.Expected, plaza.Expected) = ((38 - fallen, 4), (58 - fallen, 6));
            green.At(clock, 38 - fallen);
            // Under the van from 17:00, as fast as ground cools in its shade.
            plaza.At(clock, minute < 60 ? 58 - fallen : minute < 80 ? 53 - (13 * (minute - 60) / 20.0) : 40 - (3.5 * (minute - 80) / 70));
            Assert.True(minute < 72 || plaza.Last!.Doubt == Doubt.Disagrees, $"{clock}: {plaza.Last} {plaza.Explanation}");
        }
    }

    [Fact]
    public void Air_that_falls_explains_it_where_no_neighbour_is_measured()
    {
        var green = new ReadingScript(Green) { Expected = (36, 4) };
        var plaza = new ReadingScript { Expected = (58, 6), Neighbours = [green] };
        // Silent from 13:30 on.
        green.Each("13:00", "13:30", 36);
        plaza.Each("13:00", "13:59", 58);
        plaza.Air = 30;
        plaza.Along("14:00", "14:20", 58, 44).Expect(Doubt.None);
    }

    [Fact]
    public void Three_readings_of_an_impossible_drop_are_no_more_believed_than_one() =>
        new ReadingScript().Each("14:00", "14:10", 58)
            .At("14:11", 30).Expect(Doubt.Spike).At("14:12", 30).Expect(Doubt.Spike).At("14:13", 30).Expect(Doubt.Spike)
            // Within what ground can fall in the time since.
            .Each("14:14", "14:40", 30).Expect(Doubt.Spike)
            .At("14:41", 48).Expect(Doubt.Spike)
            .At("14:42", 56).Expect(Doubt.None);

    [Fact]
    public void The_shade_of_a_van_cools_as_ground_does_and_is_doubted_for_lying_under_what_is_expected()
    {
        var green = new ReadingScript(Green) { Expected = (36, 4) };
        var plaza = new ReadingScript { Expected = (58, 6), Neighbours = [green] };
        green.Each("13:00", "14:30", 36);
        plaza.Each("13:00", "13:59", 58).Expect(Doubt.None);
        plaza.Along("14:00", "14:20", 58, 42).Expect(Doubt.Disagrees);
        // Where it stands it says nothing of the plaza in the sun, also after an hour and a half.
        green.Each("14:31", "16:00", 36);
        plaza.Each("14:21", "16:00", 41).Expect(Doubt.Disagrees);
    }

    [Theory]
    //          air  sun   neighbour explanation
    // A quarter of the plaza's 14 K would be 3.5 K; beside air that falls a kelvin is enough, but not none: that is an evening.
    [InlineData(30, null, 34, Explanation.AirFell)]
    [InlineData(30, null, 36, Explanation.None)]
    [InlineData(34, 0.3, 36, Explanation.SkyDull)]
    // The darkest cloud leaves a hundredth; less is a sensor that is out, and a van may stand there all the same.
    [InlineData(34, 0.01, 36, Explanation.SkyDull)]
    [InlineData(34, 0.0, 36, Explanation.None)]
    [InlineData(34, null, 32, Explanation.NeighbourAgrees)]
    [InlineData(34, 0.9, 36, Explanation.None)]
    [InlineData(34, null, 36, Explanation.None)]
    public void Air_sky_or_a_neighbour_explains_a_cloud(double air, double? sun, double neighbour, Explanation explanation)
    {
        var green = new ReadingScript(Green) { Expected = (36, 4) };
        var plaza = new ReadingScript { Expected = (58, 6), Neighbours = [green], Sun = 0.95 };
        green.Each("13:00", "13:59", 36).Along("14:00", "14:20", 36, neighbour);
        plaza.Each("13:00", "13:59", 58);
        (plaza.Air, plaza.Sun) = (air, sun);
        plaza.Along("14:00", "14:12", 58, 48);
        plaza.Along("14:13", "14:20", 47.5, 44);
        if (explanation == Explanation.None)
            plaza.Expect(Doubt.Disagrees, Explanation.None);
        else
            plaza.Expect(Doubt.None);
        var first = new ReadingScript { Expected = (58, 6), Neighbours = [green], Sun = sun, Air = air, Evidence = plaza.Evidence with { AcceptedUntil = null } };
        Assert.Equal(explanation, first.At("14:21", 44).Explanation);
    }

    [Theory]
    [InlineData("a person has looked", 34)]
    [InlineData("it was wet", 34)]
    // Where the air falls, too.
    [InlineData("a person has looked", 30)]
    [InlineData("it was wet", 30)]
    public void A_neighbour_that_is_cool_for_a_reason_of_its_own_explains_nothing(string reason, double air)
    {
        var tent = new ReadingScript(Green) { Expected = (36, 4) };
        var plaza = new ReadingScript { Expected = (58, 6), Neighbours = [tent] };
        if (reason == "it was wet")
        {
            tent.Each("12:00", "12:29", 35);
            tent.Humidity = 75;
            tent.Each("12:30", "13:00", 28).Expect(Doubt.Wet);
        }
        else
        {
            tent.Each("12:30", "13:00", 28).Expect(Doubt.Disagrees);
            tent.Evidence = tent.Evidence.Explained(ReadingScript.Clock("13:00"));
        }

        tent.Each("13:01", "14:20", 28).Expect(Doubt.None);
        plaza.Each("13:00", "13:59", 57);
        (plaza.Sent, plaza.Air) = (Doubt.Spike, air);
        plaza.Each("14:00", "14:20", 36).Expect(Doubt.Spike | Doubt.Disagrees, Explanation.None);
    }

    [Fact]
    public void A_neighbour_that_is_cool_for_a_reason_of_its_own_is_heard_where_it_falls_as_well()
    {
        var tent = new ReadingScript(Green) { Expected = (36, 4) };
        var plaza = new ReadingScript { Expected = (58, 6), Neighbours = [tent] };
        tent.Each("12:30", "13:00", 28);
        tent.Evidence = tent.Evidence.Explained(ReadingScript.Clock("13:00"));
        tent.Each("13:01", "13:59", 28).Along("14:00", "14:20", 28, 24);
        plaza.Each("13:00", "13:59", 58).Along("14:00", "14:20", 58, 44).Expect(Doubt.None);
    }

    [Fact]
    public void A_neighbour_under_the_same_cloud_explains_it_also_where_that_came_there_earlier()
    {
        var green = new ReadingScript(Green) { Expected = (36, 4) };
        var plaza = new ReadingScript { Expected = (58, 6), Neighbours = [green] };
        green.Each("12:30", "12:59", 36);
        green.Sun = 0.3;
        green.Along("13:00", "13:15", 36, 30).Each("13:16", "14:20", 30).Expect(Doubt.None);
        plaza.Each("13:00", "13:59", 58).Along("14:00", "14:20", 58, 44).Expect(Doubt.None);
    }

    [Theory]
    [InlineData(0.9, Doubt.Disagrees)]
    [InlineData(0.3, Doubt.None)]
    [InlineData(null, Doubt.None)]
    public void Two_in_one_shade_do_not_explain_each_other_while_the_sun_is_measured(double? sun, Doubt doubt)
    {
        var (plaza, green) = Beside(sun);
        for (var minute = 0; minute < 180; minute++)
        {
            // A marquee is put up over both at two, and stands there.
            var shade = Math.Clamp((minute - 60) / 20.0, 0, 1);
            green.At(Clock(minute), 36 - (8 * shade) + (0.1 * Math.Sin(minute)));
            plaza.At(Clock(minute), 58 - (16 * shade) + (0.1 * Math.Sin(minute)));
            if (minute is < 60 or > 80)
            {
                green.Expect(minute < 60 ? Doubt.None : doubt);
                plaza.Expect(minute < 60 ? Doubt.None : doubt);
            }
        }
    }

    [Fact]
    public void Two_that_drift_from_what_is_expected_explain_each_other_also_in_bright_sun()
    {
        var (plaza, green) = Beside(0.9);
        for (var minute = 0; minute < 240; minute++)
        {
            // 2 K an hour and 3 K an hour.
            green.At(Clock(minute), 36 - (2 * minute / 60.0) + (0.1 * Math.Sin(minute)));
            plaza.At(Clock(minute), 58 - (3 * minute / 60.0) + (0.1 * Math.Sin(minute)));
        }

        green.Expect(Doubt.None);
        plaza.Expect(Doubt.None);
    }

    [Fact]
    public void Weather_takes_nothing_from_what_a_person_has_said_and_makes_no_witness_of_it()
    {
        var tent = new ReadingScript { Expected = (58, 6), Sun = 0.9 };
        tent.Each("12:30", "13:00", 36).Expect(Doubt.Disagrees);
        tent.Evidence = tent.Evidence.Explained(ReadingScript.Clock("13:00"));
        tent.Sun = 0.3;
        tent.At("13:01", 36).At("13:02", 10).Expect(Doubt.None, Explanation.SkyDull);
        tent.Sun = 0.9;
        tent.Each("13:03", "14:20", 36).Expect(Doubt.None);
        Assert.Equal((ReadingScript.Clock("13:00") + SpotEvidence.AcceptedFor, false), (tent.Evidence.AcceptedUntil, tent.Evidence.AcceptedByWeather));
    }

    [Fact]
    public void Light_that_halves_says_that_the_sky_is_dull()
    {
        var plaza = new ReadingScript { Expected = (58, 6), Light = 95_000 };
        plaza.Each("13:00", "13:59", 58);
        plaza.Light = 30_000;
        plaza.Along("14:00", "14:20", 58, 44).Expect(Doubt.None);
    }

    [Theory]
    //          from     light   believed
    [InlineData("14:00", 0, false)]
    [InlineData("14:00", 0.8, true)] // As dark as a sky may be.
    [InlineData("19:15", 0, true)] // The sun is at 10 to 20°, where zeros may be.
    public void A_light_that_says_nothing_while_the_sun_is_high_is_no_dull_sky(string from, double light, bool believed)
    {
        var plaza = new ReadingScript { Expected = (58, 6), Light = 95_000 };
        var begin = TimeSpan.Parse(from, System.Globalization.CultureInfo.InvariantCulture);
        string Clock(int minutes) => (begin + TimeSpan.FromMinutes(minutes)).ToString(@"hh\:mm", System.Globalization.CultureInfo.InvariantCulture);
        plaza.Each(Clock(-60), Clock(-1), 58);
        plaza.Light = light;
        plaza.Along(Clock(0), Clock(20), 58, 44);
        Assert.Equal(believed, plaza.Last!.Doubt == Doubt.None);
    }

    [Fact]
    public void Where_nobody_can_be_asked_it_is_believed_after_slow_ground_has_had_time_to_cool_and_an_hour()
    {
        var plaza = new ReadingScript { Expected = (58, 6) };
        plaza.Each("13:00", "13:59", 58).Each("14:00", "14:00", 45);
        // From 58 °C: 13 K of slow asphalt (2166) under 0.88 · 900 W/m²: π·(13·2166/(2·790))² = 1000 s; the sun's exact height moves it by a minute.
        plaza.Each("14:01", "15:14", 45).Expect(Doubt.Disagrees);
        plaza.Each("15:15", "15:19", 45).Expect(Doubt.None);
        Assert.Null(plaza.Evidence.DoubtedSince);
        // From then on it is believed for the day,
        plaza.Each("15:20", "18:00", 45).Expect(Doubt.None);
        // unless it comes back and lies under again.
        plaza.At("18:01", 47).Expect(Doubt.None);
        plaza.Expected = (46, 4);
        plaza.At("18:02", 47).At("18:03", 41).Expect(Doubt.Disagrees);
    }

    [Fact]
    public void A_wait_ends_no_doubt_while_the_sun_is_measured_bright()
    {
        var plaza = new ReadingScript { Expected = (58, 6), Sun = 0.9 };
        plaza.Each("13:00", "13:59", 58).Each("14:00", "17:30", 45).Expect(Doubt.Disagrees);
    }

    [Fact]
    public void A_thermometer_in_the_hand_that_agrees_explains_it_and_one_that_does_not_changes_nothing()
    {
        var plaza = new ReadingScript { Expected = (58, 6), Sun = 0.9 };
        plaza.Each("13:00", "13:59", 58).Each("14:00", "14:30", 45).Expect(Doubt.Disagrees);
        Assert.Same(plaza.Evidence, plaza.Evidence.Checked(ReadingScript.Clock("14:31"), 57));
        Assert.Same(plaza.Evidence, plaza.Evidence.Checked(ReadingScript.Clock("14:50"), 45));
        plaza.Evidence = plaza.Evidence.Checked(ReadingScript.Clock("14:31"), 46.5);
        plaza.Each("14:32", "16:00", 45).Expect(Doubt.None);
    }

    [Fact]
    public void Somebody_who_has_looked_explains_it()
    {
        var plaza = new ReadingScript { Expected = (58, 6), Sun = 0.9 };
        plaza.Each("13:00", "13:59", 58).Each("14:00", "14:30", 45).Expect(Doubt.Disagrees);
        plaza.Evidence = plaza.Evidence.Explained(ReadingScript.Clock("14:31"));
        plaza.Each("14:32", "16:00", 45).Expect(Doubt.None);
    }

    [Fact]
    public void The_first_reading_after_a_start_is_held_against_what_is_expected() =>
        new ReadingScript { Expected = (58, 6), Sun = 0.9 }.At("14:00", 40).Expect(Doubt.Disagrees);

    [Fact]
    public void A_start_under_way_forgets_no_doubt()
    {
        var plaza = new ReadingScript { Sun = 0.9 };
        var judged = new List<Reading>();
        foreach (var (clock, celsius) in new[] { ("14:00", 58.0), ("14:01", 30), ("14:02", 30), ("14:03", 30) })
            judged.Add(plaza.At(clock, celsius).Last!);
        var after = new ReadingScript { Sun = 0.9, Evidence = SpotEvidence.Of(judged) };
        after.At("14:04", 30).Expect(Doubt.Spike);
        after.At("14:05", 56).Expect(Doubt.None);
    }

    [Fact]
    public void A_start_forgets_no_doubt_that_is_older_than_what_is_read_back()
    {
        var after = AfterVan();
        after.At("15:41", 30).Expect(Doubt.Spike);
        // What shade warms in an hour is no way back; where it came from nobody knows.
        after.Along("15:42", "16:10", 30, 33).Expect(Doubt.Spike);
        after.At("16:11", 45).Expect(Doubt.None);
        after.At("16:12", 45).Expect(Doubt.None);
    }

    [Fact]
    public void An_old_doubt_ends_after_a_start_by_what_ends_any_other()
    {
        var looked = AfterVan();
        looked.Evidence = looked.Evidence.Explained(ReadingScript.Clock("15:40"));
        looked.At("15:41", 30).Expect(Doubt.None);

        var dull = AfterVan();
        dull.Sun = 0.3;
        dull.At("15:41", 30).Expect(Doubt.None, Explanation.SkyDull);
        dull.Sun = null;
        dull.At("15:42", 30).Expect(Doubt.None);

        // How far it fell is not known: two hours at most, and one, from the oldest reading at 13:40.
        var alone = AfterVan();
        alone.Sun = null;
        alone.Each("15:41", "16:39", 30).Expect(Doubt.Spike);
        alone.At("16:40", 30).Expect(Doubt.None, Explanation.HasHeld);
    }

    [Fact]
    public void An_old_doubt_is_held_against_what_is_expected_as_soon_as_that_is_known()
    {
        var plaza = new ReadingScript { Expected = (58, 6), Sun = 0.9 };
        plaza.Each("13:00", "13:29", 58).Along("13:30", "13:50", 58, 44).Each("13:51", "16:00", 44).Expect(Doubt.Disagrees);
        var after = new ReadingScript { Sun = 0.9, Evidence = plaza.Restarted("16:00") };
        after.At("16:01", 44).Expect(Doubt.Disagrees);
        after.Expected = (48, 6);
        after.At("16:02", 44).Expect(Doubt.None, Explanation.Back);
    }

    [Fact]
    public void A_start_forgets_no_doubt_of_lying_too_low_before_it_is_known_again_what_is_expected()
    {
        var plaza = new ReadingScript { Expected = (58, 6), Sun = 0.9 };
        plaza.Each("13:00", "13:29", 58).Along("13:30", "13:50", 58, 44).Each("13:51", "14:10", 44).Expect(Doubt.Disagrees);
        var after = new ReadingScript { Sun = 0.9, Evidence = plaza.Restarted("14:10") };
        after.Each("14:11", "14:15", 44).Expect(Doubt.Disagrees);
        after.Expected = (58, 6);
        after.At("14:16", 44).Expect(Doubt.Disagrees);
        after.Expected = (48, 6);
        after.At("14:17", 44).Expect(Doubt.None, Explanation.Back);
    }

    [Fact]
    public void That_no_neighbour_is_known_says_nothing_before_they_have_had_time_to_be_heard()
    {
        var held = AfterVan();
        (held.Sun, held.AreNeighboursHeard) = (null, false);
        held.Each("15:41", "16:50", 30).Expect(Doubt.Spike);
        held.AreNeighboursHeard = true;
        held.At("16:51", 30).Expect(Doubt.None, Explanation.HasHeld);

        var evening = new ReadingScript { Expected = (58, 6) }.Each("13:00", "13:59", 58);
        (evening.Air, evening.AreNeighboursHeard) = (30, false);
        evening.Along("14:00", "14:20", 58, 44).Expect(Doubt.Disagrees);
        evening.AreNeighboursHeard = true;
        evening.At("14:21", 44).Expect(Doubt.None, Explanation.AirFell);
    }

    [Fact]
    public void A_start_between_two_showers_forgets_neither()
    {
        var plaza = new ReadingScript().Each("13:00", "13:29", 47);
        // The first at 13:30, wet until 14:30; dry and warm again at 14:00, and the next at 14:10, within the hour of the first.
        (plaza.Humidity, plaza.Air) = (75, 27);
        plaza.Each("13:30", "13:31", 33).Expect(Doubt.Wet);
        plaza.Humidity = 50;
        plaza.Along("13:32", "14:09", 33, 40).Expect(Doubt.Wet);
        plaza.Humidity = 80;
        plaza.At("14:10", 32).Each("14:11", "14:40", 32).Expect(Doubt.Wet);
        Assert.Equal(plaza.Evidence.WetUntil, plaza.Restarted("14:40").WetUntil);
        var after = new ReadingScript { Humidity = 80, Air = 27, Evidence = plaza.Restarted("14:40") };
        after.Each("14:41", "15:08", 32).Expect(Doubt.Wet);

        // An hour and a half later it is dry, and a third comes after the second is over.
        plaza.Humidity = 50;
        plaza.Along("14:41", "15:59", 32, 42).Expect(Doubt.None);
        plaza.Humidity = 80;
        plaza.At("16:00", 34).Expect(Doubt.Wet);
        Assert.Equal(ReadingScript.Clock("17:00"), plaza.Restarted("16:00").WetUntil);
    }

    [Fact]
    public void A_shower_that_is_over_hides_no_doubt_that_began_after_it()
    {
        var plaza = new ReadingScript { Sun = 0.9 }.Each("13:00", "13:29", 47);
        plaza.Humidity = 75;
        plaza.Each("13:30", "13:31", 33).Expect(Doubt.Wet);
        plaza.Along("13:32", "15:00", 33, 48).Expect(Doubt.None);
        plaza.Each("15:01", "15:10", 22).Expect(Doubt.Spike);
        var after = new ReadingScript { Sun = 0.9, Humidity = 75, Evidence = plaza.Restarted("15:10") };
        after.At("15:11", 22).Expect(Doubt.Spike);

        var slow = new ReadingScript { Expected = (48, 6), Sun = 0.9 }.Each("13:00", "13:29", 48);
        slow.Humidity = 75;
        slow.Each("13:30", "13:31", 35).Expect(Doubt.Wet);
        slow.Along("13:32", "15:00", 35, 48.5).Expect(Doubt.None);
        slow.Along("15:01", "15:20", 48, 36).Expect(Doubt.Disagrees);
        new ReadingScript { Expected = (48, 6), Sun = 0.9, Humidity = 75, Evidence = slow.Restarted("15:20") }.At("15:21", 36).Expect(Doubt.Disagrees);
    }

    [Fact]
    public void Wetness_that_ended_while_it_was_too_hot_explains_no_van_after_it()
    {
        var plaza = new ReadingScript { Expected = (58, 6), Sun = 0.9 }.Each("13:00", "13:29", 47);
        plaza.Humidity = 75;
        plaza.Each("13:30", "13:31", 33).Expect(Doubt.Wet);
        plaza.Each("13:50", "15:00", 58);
        plaza.At("15:01", 34);
        plaza.Expect(Doubt.Spike | Doubt.Disagrees);
    }

    [Fact]
    public void Without_a_fit_that_has_learnt_only_physics_speaks() =>
        new ReadingScript().Along("13:00", "14:00", 58, 35).Expect(Doubt.None);

    [Theory]
    //          minutes fall
    [InlineData(1, 12, Doubt.None)]
    [InlineData(1, 22, Doubt.Spike)]
    [InlineData(5, 22, Doubt.None)]
    [InlineData(9, 33, Doubt.None)]
    // Asphalt that stores little (922), takes in most (0.96) of about 985 W/m² and gives a gust 24 K · 10 W/m² as well: 2·1285·√(t/π)/922 is
    // 17 K in the two minutes that a minute may be, 30 K in six, 39 K in ten.
    public void Physics_says_how_far_ground_can_fall(int minutes, double fall, Doubt doubt) =>
        new ReadingScript().Each("13:00", "13:30", 58).At($"13:{30 + minutes}", 58 - fall).Expect(doubt);

    [Fact]
    public void A_grate_follows_at_once() =>
        new ReadingScript(ReadingScript.Plaza with { Surface = SurfaceKind.MetalGrate }).Each("13:00", "13:30", 60).At("13:31", 33).Expect(Doubt.None);

    [Fact]
    public void A_shower_is_wet_for_an_hour_after_its_last_sign_and_then_believed()
    {
        var plaza = new ReadingScript { Expected = (58, 6) };
        plaza.Each("13:00", "13:59", 58);
        (plaza.Humidity, plaza.Air) = (75, 27);
        plaza.Along("14:00", "14:10", 47, 30).Expect(Doubt.Wet);
        plaza.Humidity = 80;
        plaza.Along("14:11", "15:09", 30, 33).Expect(Doubt.Wet);
        plaza.Along("15:10", "15:26", 33, 34).Expect(Doubt.None);
        plaza.Each("15:27", "16:30", 35).Expect(Doubt.None);
    }

    [Fact]
    public void Rain_that_is_measured_makes_a_drop_wet_for_an_hour_after_its_last()
    {
        // Bright again at once, and the green beside it stays as it is: without the rain it would be a van.
        var green = new ReadingScript(Green).Each("13:00", "14:20", 31);
        var plaza = new ReadingScript { Expected = (58, 6), Sun = 0.9, Neighbours = [green] };
        plaza.Each("13:00", "13:59", 58);
        plaza.Rained = "14:00";
        plaza.Along("14:00", "14:10", 47, 30).Expect(Doubt.Wet);
        plaza.Rained = "14:12";
        plaza.Along("14:11", "15:11", 30, 33).Expect(Doubt.Wet);
        // Known also after a start, from what was judged.
        Assert.True(plaza.Restarted("15:11").WetUntil >= plaza.Evidence.WetUntil);
        plaza.At("15:12", 33).Expect(Doubt.None, Explanation.WasWet);
    }

    [Theory]
    //          rained  fell  doubt
    [InlineData("14:00", 14, Doubt.Wet)]
    [InlineData("15:00", 14, Doubt.Wet)] // The end of an hour that is not over.
    [InlineData("13:01", 14, Doubt.Wet)]
    [InlineData("13:00", 14, Doubt.Disagrees)] // An hour ago.
    [InlineData("14:00", 3.3, Doubt.Wet)]
    [InlineData("14:00", 2.7, Doubt.None)] // Still as warm as it was.
    public void Rain_explains_a_drop_within_the_hour_only(string rained, double fell, Doubt doubt)
    {
        var plaza = new ReadingScript { Expected = (48, 6), Sun = 0.9 };
        plaza.Each("13:00", "13:59", 48);
        plaza.Rained = rained;
        plaza.At("14:00", 48 - fell).Expect(doubt);
    }

    [Fact]
    public void Rain_hides_no_heat()
    {
        var plaza = new ReadingScript { Rained = "14:00" };
        plaza.Each("13:00", "13:59", 58).Each("14:00", "14:30", 51).Expect(Doubt.None);
    }

    [Fact]
    public void Humidity_that_rises_over_ground_that_stays_hot_is_no_rain()
    {
        var plaza = new ReadingScript().Each("13:00", "13:59", 48);
        plaza.Humidity = 60;
        plaza.Each("14:00", "14:10", 47).Expect(Doubt.None);
    }

    [Fact]
    public void What_stands_still_for_minutes_while_a_neighbour_moves_is_stuck()
    {
        var green = new ReadingScript(Green);
        var plaza = new ReadingScript { Neighbours = [green] };
        for (var minute = 0; minute < 12; minute++)
        {
            green.At($"10:{minute:00}", 30 + minute);
            plaza.At($"10:{minute:00}", 44.02);
        }

        plaza.Expect(Doubt.Stuck);
        plaza.At("10:12", 44.6).Expect(Doubt.None);
    }

    [Fact]
    public void What_stands_still_while_the_ground_should_warm_is_stuck_within_a_quarter_of_an_hour()
    {
        var plaza = new ReadingScript();
        var stuckAt = -1;
        for (var minute = 0; minute < 30 && stuckAt < 0; minute++)
        {
            // 8 K an hour, as asphalt on a clear morning.
            plaza.Expected = (44 + (8 * minute / 60.0), 8);
            stuckAt = plaza.At($"10:{minute:00}", 44.02).Last!.Doubt == Doubt.Stuck ? minute : -1;
        }

        Assert.InRange(stuckAt, 5, 14);
    }

    [Fact]
    public void What_stands_still_while_nothing_moves_is_not_stuck()
    {
        var green = new ReadingScript(Green);
        var plaza = new ReadingScript { Neighbours = [green], Expected = (25, 4) };
        for (var minute = 0; minute < 60; minute++)
        {
            green.At($"02:{minute:00}", 21 - (0.02 * minute));
            plaza.At($"02:{minute:00}", 25.01).Expect(Doubt.None);
        }
    }

    [Fact]
    public void What_fell_from_a_heat_it_had_jumped_to_is_no_fall()
    {
        // Somebody's engine stood over it for ten minutes. The gateway doubts the jump for two.
        var plaza = new ReadingScript().Each("13:00", "13:30", 40);
        plaza.Sent = Doubt.Spike;
        plaza.Each("13:31", "13:32", 80);
        plaza.Sent = Doubt.None;
        plaza.Each("13:33", "13:40", 80).At("13:41", 41).Expect(Doubt.None);
    }

    [Fact]
    public void What_its_gateway_goes_on_doubting_is_believed_once_it_is_explained()
    {
        var plaza = new ReadingScript { Sun = 0.95 }.Each("13:00", "13:59", 58);
        plaza.Sent = Doubt.Spike;
        plaza.Each("14:00", "14:10", 35).Expect(Doubt.Spike);
        plaza.Sun = 0.2;
        plaza.At("14:11", 35).Expect(Doubt.None, Explanation.SkyDull);
        plaza.Each("14:12", "14:30", 35).Expect(Doubt.None);
        // Another doubt of its gateway is not for the server to lift.
        plaza.Sent = Doubt.SensorHeating;
        plaza.At("14:31", 35).Expect(Doubt.SensorHeating);
    }

    [Fact]
    public void Cold_ground_is_not_doubted_for_being_colder()
    {
        var plaza = new ReadingScript { Expected = (6, 3), Air = 2, Sun = 0.9 };
        plaza.At("14:00", -1).Expect(Doubt.None);
    }

    [Fact]
    public void At_night_nothing_lies_under_what_is_expected() =>
        new ReadingScript { Expected = (30, 2) }.At("23:00", 24).Expect(Doubt.None);

    [Fact]
    public void What_is_not_newer_is_left_as_it_was_sent() =>
        new ReadingScript().Each("14:00", "14:10", 58).At("14:05", 20).Expect(Doubt.None);

    /// <summary>The opposite fault: whatever came before, a warning does not wait for a judgement.</summary>
    [Fact]
    public void Nothing_at_the_limit_or_over_it_is_ever_doubted_here() =>
        Gen.Select(Gen.Double[-10, 90].Array[1, 40], Gen.Double[49, 110], Gen.Double[30, 80], Gen.Bool, Gen.Int[0, 20]).Sample((before, hot, expected, wet, hours) =>
        {
            var plaza = new ReadingScript { Expected = (expected, 3), Sun = 0.9 };
            for (var i = 0; i < before.Length; i++)
            {
                plaza.Humidity = wet && i % 2 == 0 ? 90 : 30;
                plaza.At($"{hours}:{i:00}", before[i]);
            }

            plaza.At($"{hours}:{before.Length:00}", hot);
            return plaza.Last!.Quality == ReadingQuality.Good;
        });

    /// <summary>Readings are kept: judged or not, what was measured is what was measured.</summary>
    [Fact]
    public void A_judgement_changes_quality_and_doubt_and_nothing_else() =>
        Gen.Double[-10, 90].Array[1, 60].Sample(values =>
        {
            var plaza = new ReadingScript { Expected = (50, 3) };
            for (var i = 0; i < values.Length; i++)
            {
                plaza.At($"13:{i:00}", values[i]);
                if (plaza.Last!.SurfaceCelsius != values[i] || plaza.Last.Quality == ReadingQuality.Rejected || plaza.Last.Quality == ReadingQuality.Good != (plaza.Last.Doubt == Doubt.None))
                    return false;
            }

            return true;
        });

    // From one o'clock on.
    private static string Clock(int minute) => $"{13 + (minute / 60)}:{minute % 60:00}";

    /// <summary>A plaza and a green, neighbours, under the sun as it is measured.</summary>
    private static (ReadingScript Plaza, ReadingScript Green) Beside(double? sun)
    {
        var green = new ReadingScript(Green) { Expected = (36, 4), Sun = sun };
        var plaza = new ReadingScript { Expected = (58, 6), Sun = sun, Neighbours = [green] };
        green.Neighbours = [plaza];
        return (plaza, green);
    }

    /// <summary>Started anew at 15:40, when a van has stood over a plaza without a fit for 130 minutes.</summary>
    private static ReadingScript AfterVan()
    {
        var plaza = new ReadingScript { Sun = 0.9 }.Each("13:00", "13:29", 58).Each("13:30", "15:40", 30).Expect(Doubt.Spike);
        return new ReadingScript { Sun = 0.9, Evidence = plaza.Restarted("15:40") };
    }
}
