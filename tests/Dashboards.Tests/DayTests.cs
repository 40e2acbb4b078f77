using PavementWatch.Core.Contact;
using PavementWatch.Core.Offsets;
using PavementWatch.Core.Readings;
using PavementWatch.Core.Surfaces;
using PavementWatch.Dashboards.Days;
using PavementWatch.Dashboards.Tests.Hosting;

namespace PavementWatch.Dashboards.Tests;

/// <summary>A day's curve in sentences and hours.</summary>
public class DayTests
{
    private static readonly Spot Plaza = new(
        SpotId.Parse("north-gate-plaza"), "North Gate plaza", SurfaceKind.Asphalt, 37.4, -97.0, Ferngate.Zone);

    private static readonly DateTimeOffset Midnight = new(2026, 7, 14, 5, 0, 0, TimeSpan.Zero);

    [Fact]
    public void Day_without_points_says_that_nothing_is_known()
    {
        var sentences = DaySummary.Sentences(Day([], []), At(14), TemperatureUnit.Both);
        Assert.Equal(["No readings and no estimates for this day: nothing is known about it."], sentences);
    }

    [Fact]
    public void Past_span_present_span_and_span_ahead_are_told_apart()
    {
        var day = Day([Measured(8, 30)], [new(At(9), At(10.5), false), new(At(12), At(16), true), new(At(17), At(18), true)]);
        var sentences = DaySummary.Sentences(day, At(14), TemperatureUnit.Both);
        Assert.Contains("Too hot from 09:00 to 10:30 (1 h 30 min).", sentences);
        Assert.Contains("Too hot since 12:00, in part or whole by estimate; expected until 16:00.", sentences);
        Assert.Contains("Expected to be too hot from 17:00 to 18:00.", sentences);
    }

    [Fact]
    public void Spans_that_touch_are_one_sentence()
    {
        var day = Day([Measured(8, 30)], [new(At(11), At(13.5), false), new(At(13.5), At(19 + (50 / 60.0)), true), new(At(21), At(22), true)]);
        var sentences = DaySummary.Sentences(day, At(13), TemperatureUnit.Both);
        Assert.Equal(
            ["Too hot since 11:00, in part or whole by estimate; expected until 19:50.", "Expected to be too hot from 21:00 to 22:00."],
            sentences.Where(s => s.Contains("too hot", StringComparison.OrdinalIgnoreCase)));
    }

    [Fact]
    public void Silence_is_told_with_its_times_and_many_as_a_sum()
    {
        DayPoint[] few = [.. Enumerable.Range(0, 12 * 14).Select(i => i / 12.0).Where(h => h is < 9 or >= 9.5).Select(h => Measured(h, 30))];
        Assert.Contains("No reading from 08:55 to 09:30.", DaySummary.Sentences(Day(few, []), At(14), TemperatureUnit.Both));

        DayPoint[] many = [.. Enumerable.Range(0, 15).Select(h => Measured(h, 30))];
        Assert.Contains("No reading in 14 spans, together 14 h.", DaySummary.Sentences(Day(many, []), At(14), TemperatureUnit.Both));
    }

    [Fact]
    public void Readings_in_doubt_are_told_with_their_times_and_why_and_are_no_silence()
    {
        DayPoint[] points = [.. Enumerable.Range(0, 12 * 14).Select(i => i / 12.0).Where(h => h is < 9 or >= 10.5).Select(h => Measured(h, 30))];
        var day = Day(points, []) with { Doubted = [new(At(9), At(10.45), Doubt.Disagrees | Doubt.Wet)] };
        var sentences = DaySummary.Sentences(day, At(14), TemperatureUnit.Both);
        Assert.Contains("Readings in doubt from 09:00 to 10:27, which do not count: it is cooler than its weather explains, the ground or the sensor is wet, or was within the hour.", sentences);
        Assert.DoesNotContain(sentences, s => s.StartsWith("No reading", StringComparison.Ordinal));

        var hot = Day(points, [new(At(9), At(10), true)]) with { Doubted = [new(At(9), At(10), Doubt.SensorHeating) { HottestCelsius = 55 }] };
        Assert.Contains(DaySummary.Sentences(hot, At(14), TemperatureUnit.Celsius), s => s.StartsWith("Readings in doubt from 09:00 to 10:00, up to 55 °C, taken as too hot: ", StringComparison.Ordinal));
        DoubtedSpan[] many = [.. Enumerable.Range(9, 4).Select(h => new DoubtedSpan(At(h), At(h + 0.1), h == 9 ? Doubt.Stuck : Doubt.Wet))];
        Assert.Contains(
            "Readings in doubt at times from 09:00 to 12:06, which do not count: the value has not moved for too long, the ground or the sensor is wet, or was within the hour.",
            DaySummary.Sentences(Day(points, []) with { Doubted = many }, At(14), TemperatureUnit.Both));
    }

    [Fact]
    public void Fresh_day_without_heat_does_not_promise_what_is_not_known() =>
        Assert.Contains("Not too hot so far; nothing is known of the hours ahead.",
            DaySummary.Sentences(Day([Measured(8, 30)], []), At(8.1), TemperatureUnit.Both));

    [Fact]
    public void Hottest_moment_is_told_in_both_units() =>
        Assert.Contains("Hottest measured: 62.3 °C (144 °F) at 15:00.",
            DaySummary.Sentences(Day([Measured(14, 60), Measured(15, 62.3)], []), At(20), TemperatureUnit.Both));

    [Fact]
    public void Estimate_hotter_than_anything_measured_is_told_with_its_interval() =>
        Assert.Contains("Hottest estimated: 58 °C (136 °F) at 16:00, nine times in ten 53 to 64 °C (128 to 147 °F).",
            DaySummary.Sentences(Day([Measured(14, 50), Estimated(16, 58, 53.6, 63.4)], []), At(20), TemperatureUnit.Both));

    [Fact]
    public void How_often_estimates_held_is_told_where_there_are_some()
    {
        const string sentence = "Of the estimates of the last 30 days, 91 in 100 held.";
        // 919 of 1000: never rounded up.
        var record = new IntervalRecord(30, 1000, 919, 100, 95, 4);
        Assert.Contains(sentence, DaySummary.Sentences(Day([Estimated(15, 50, 45, 55)], []) with { Record = record }, At(14), TemperatureUnit.Both));
        Assert.DoesNotContain(sentence, DaySummary.Sentences(Day([Measured(13, 50)], []) with { Record = record }, At(14), TemperatureUnit.Both));
        Assert.DoesNotContain("held", string.Join(' ', DaySummary.Sentences(Day([Estimated(15, 50, 45, 55)], []), At(14), TemperatureUnit.Both)), StringComparison.Ordinal);
    }

    [Theory]
    [InlineData(false, true, true, true, "The hours ahead: no forecast is at hand, so the air is taken to repeat its last day.")]
    [InlineData(true, true, true, true, "The hours ahead: air from the forecast of 06:00, with its wind and sun.")]
    [InlineData(true, true, false, true, "The hours ahead: air from the forecast of 06:00, with its sun.")]
    [InlineData(true, false, false, false, "The hours ahead: air from the forecast of 06:00 from 15:00 to 19:00; for the rest it is taken to repeat its last day.")]
    public void Where_the_air_of_the_hours_ahead_is_from_is_told(bool forecast, bool all, bool wind, bool sun, string sentence)
    {
        var used = forecast ? new ForecastUsed(At(15), At(19), At(6), At(6), wind, sun) : null;
        var day = Day([Estimated(15, 50, 45, 55)], []) with { Coming = new(At(15), used, all) };
        Assert.Contains(sentence, DaySummary.Sentences(day, At(14), TemperatureUnit.Both));
    }

    [Fact]
    public void Forecasts_of_several_issues_and_other_days_are_told_with_their_dates()
    {
        var day = Day([Estimated(15, 50, 45, 55)], []) with { Coming = new(At(15), new(At(15), At(24), At(-6), At(6), false, false), true) };
        Assert.Contains("The hours ahead: air from the forecasts of 13 July 18:00 to 06:00.", DaySummary.Sentences(day, At(14), TemperatureUnit.Both));
    }

    [Fact]
    public void Walk_is_told_with_its_note()
    {
        var day = Day([Measured(8, 30)], []) with { Walk = new(At(7), At(7.5), "Pickle", "grass only, it was cool.") };
        Assert.Contains("Pickle's walk, 07:00 to 07:30: grass only, it was cool.", DaySummary.Sentences(day, At(14), TemperatureUnit.Both));
    }

    [Fact]
    public void A_frost_is_told_with_its_hours_by_the_lower_end_of_what_is_estimated()
    {
        var sentences = DaySummary.Sentences(Day([Estimated(5, 3, -2, 8), Measured(6, -1.5), Measured(7, 0), Measured(8, 0.5)], []), At(14), TemperatureUnit.Both);
        Assert.Contains("At or under freezing at times from 05:00 to 07:00, down to -2 °C (28 °F): it may be icy.", sentences);
        Assert.DoesNotContain(DaySummary.Sentences(Day([Measured(6, 1)], []), At(14), TemperatureUnit.Both), s => s.Contains("freezing", StringComparison.Ordinal));
    }

    [Fact]
    public void A_frost_that_a_mean_hides_or_that_was_in_doubt_is_told_too()
    {
        var mean = Day([Measured(6, 0.4) with { HottestCelsius = 1.1, ColdestCelsius = -0.6 }], []);
        Assert.Contains("At or under freezing at 06:00, down to -0.6 °C: it may be icy.", DaySummary.Sentences(mean, At(14), TemperatureUnit.Celsius));

        // What is estimated meanwhile is no comfort: walkers were told of the readings.
        var doubted = Day([Estimated(6, 6, 3, 9), Measured(9, 8)], []) with { Doubted = [new(At(5), At(7), Doubt.Disagrees) { HottestCelsius = 1, ColdestCelsius = -1.5 }] };
        var sentences = DaySummary.Sentences(doubted, At(14), TemperatureUnit.Celsius);
        Assert.Equal("At or under freezing at times from 05:00 to 07:00, down to -1.5 °C: it may be icy.", sentences[0]);
        Assert.Contains(sentences, s => s.StartsWith("Readings in doubt from 05:00 to 07:00, down to -1.5 °C, taken as freezing: ", StringComparison.Ordinal));
    }

    [Fact]
    public void The_peak_that_a_mean_hides_is_in_the_sentences_the_hours_and_the_columns()
    {
        var day = Day([Measured(14, 48.2) with { HottestCelsius = 49.6, ColdestCelsius = 47 }, Measured(15, 48.4)], [new(At(14), At(14.1), false)]);

        Assert.Contains("Hottest measured: 49.6 °C at 14:00.", DaySummary.Sentences(day, At(20), TemperatureUnit.Celsius));
        Assert.Equal((GroundWord.TooHot, 49.6), (DayHour.Of(day)[14].Word, DayHour.Of(day)[14].SurfaceCelsius));
        var json = SpotDayJson.Of(day);
        Assert.Equal([48.2, 48.4], json.SurfaceCelsius);
        Assert.Equal([49.6, 48.4], json.HottestCelsius);
        Assert.Equal([47, 48.4], json.ColdestCelsius);
    }

    [Theory]
    [InlineData(55.0, 50.0, GroundWord.TooHot, 55.0)]
    [InlineData(1.0, -1.5, GroundWord.Freezing, -1.5)]
    [InlineData(40.0, 1.0, GroundWord.Comfortable, null)]
    public void Readings_in_doubt_of_which_walkers_were_told_are_the_hours_word(double hottest, double coldest, GroundWord word, double? told)
    {
        var day = Day([Estimated(9, 20, 15, 25), Estimated(11, 20, 15, 25)], []) with
        {
            Doubted = [new(At(9.5), At(10.5), Doubt.Stuck) { HottestCelsius = hottest, ColdestCelsius = coldest }],
        };

        var hours = DayHour.Of(day);

        Assert.Equal((word, told), (hours[9].Word, hours[9].DoubtedCelsius));
        Assert.Equal(told is null ? GroundWord.Unknown : word, hours[10].Word);
        Assert.Equal(told is null ? ["none"] : ["in doubt", $"{told:0.0} °C"], DayHourTexts.Surface(hours[10], 49, TemperatureUnit.Celsius));
        Assert.Equal((GroundWord.Comfortable, null), (hours[11].Word, hours[11].DoubtedCelsius));
    }

    [Fact]
    public void The_frost_that_a_mean_hides_is_the_hours_word() =>
        Assert.Equal(
            (GroundWord.Freezing, -0.6),
            (DayHour.Of(Day([Measured(6, 0.4) with { HottestCelsius = 1.1, ColdestCelsius = -0.6 }], []))[6] is var hour ? (hour.Word, hour.SurfaceCelsius) : default));

    [Fact]
    public void Of_a_frosty_day_the_ice_is_said_first_and_no_share_of_a_heat_that_is_not_there()
    {
        var walk = new WalkMark(At(6), At(6.5), "Pickle", "kept short");
        var frosty = Day([Measured(6, -1.5), Measured(6.25, -1), Measured(6.5, -1), Measured(8, 0.5)], []);
        frosty = frosty with { Walk = walk with { Dose = WalkDose.Of([new("North Gate plaza", [frosty])], walk.From, walk.To) } };

        var sentences = DaySummary.Sentences(frosty, At(14), TemperatureUnit.Both);

        Assert.StartsWith("At or under freezing", sentences[0], StringComparison.Ordinal);
        Assert.StartsWith("Not too hot so far", sentences[1], StringComparison.Ordinal);
        Assert.DoesNotContain(sentences, s => s.Contains("heat that hurts", StringComparison.Ordinal));
    }

    [Fact]
    public void Hour_takes_the_hottest_of_what_was_measured_and_the_upper_end_of_what_was_not()
    {
        var hour = DayHour.Of(Day([Measured(14, 45), Estimated(14.5, 47, 44, 50)], []))[14];
        Assert.Equal("14:00", hour.Clock);
        Assert.Equal(GroundWord.TooHot, hour.Word);
        Assert.Equal(45, hour.SurfaceCelsius);
        Assert.Equal(50, hour.UpperCelsius);
    }

    [Theory]
    //          warm hour  cold  word
    [InlineData(12.0, -2.0, GroundWord.Freezing)]
    [InlineData(12.0, -11.0, GroundWord.Bitter)]
    [InlineData(12.0, 3.0, GroundWord.Cold)]
    [InlineData(50.0, -2.0, GroundWord.TooHot)]
    public void Hour_takes_the_gravest_of_its_words(double warm, double cold, GroundWord word)
    {
        var hour = DayHour.Of(Day([Measured(7.25, warm), Measured(7.5, cold)], []))[7];
        Assert.Equal(word, hour.Word);
        Assert.Equal(word == GroundWord.TooHot ? warm : cold, hour.SurfaceCelsius);
    }

    [Fact]
    public void Hour_whose_estimate_may_freeze_says_so() =>
        Assert.Equal(GroundWord.Freezing, DayHour.Of(Day([Measured(14, 20), Estimated(6.5, 3, -1, 7)], []))[6].Word);

    [Fact]
    public void Hour_without_anything_is_unknown_and_not_comfortable() =>
        Assert.Equal(GroundWord.Unknown, DayHour.Of(Day([Measured(14, 20)], []))[3].Word);

    [Theory]
    //          day           hours  why
    [InlineData("2026-07-14", 24, "an ordinary day")]
    [InlineData("2026-03-08", 23, "clocks go forward in Chicago on the second Sunday of March")]
    [InlineData("2026-11-01", 25, "clocks go back in Chicago on the first Sunday of November")]
    public void Day_has_as_many_hours_as_the_clock_says(string day, int hours, string why) =>
        Assert.True(hours == DayHour.Of(Ferngate.Day(Plaza, DateOnly.Parse(day), Ferngate.Now)).Count, why);

    private static DateTimeOffset At(double hour) => Midnight.AddMinutes(Math.Round(hour * 60));

    private static DayPoint Measured(double hour, double celsius) => new(At(hour), celsius, 25, null, null, null);

    private static DayPoint Estimated(double hour, double celsius, double lower, double upper) =>
        new(At(hour), null, 25, celsius, lower, upper);

    private static SpotDay Day(DayPoint[] points, TooHotSpan[] spans) =>
        new(Plaza, new(2026, 7, 14), Midnight, Midnight.AddDays(1), points, spans);
}
