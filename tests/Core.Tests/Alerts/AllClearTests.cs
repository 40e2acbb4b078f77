using System.Globalization;
using PavementWatch.Core.Alerts;
using PavementWatch.Core.Offsets;
using PavementWatch.Core.Readings;
using PavementWatch.Core.Sun;
using PavementWatch.Core.Surfaces;
using static PavementWatch.Core.Alerts.AlertReason;
using static PavementWatch.Core.Alerts.AlertState;
using static PavementWatch.Core.Tests.Alerts.AlertScript;

namespace PavementWatch.Core.Tests.Alerts;

/// <summary>An all-clear lasts. Expected changes: design of the product, section 9.</summary>
public class AllClearTests
{
    private static readonly Spot Plaza =
        new(SpotId.Parse("north-gate-plaza"), "North Gate plaza", SurfaceKind.Asphalt, 37.4, -97.0, "America/Chicago");

    private static readonly AlertRule Rule = new() { Sun = SunReturn.Of(Plaza), Zone = TimeZoneInfo.FindSystemTimeZoneById("America/Chicago") };

    // As it was: ten minutes under the limit, whatever comes.
    private static readonly AlertRule Hasty = Rule with { Sun = null, AllClearHolds = TimeSpan.Zero, AllClearQuiet = TimeSpan.Zero };

    // 15:34 by Ferngate's clock is 20:34 by that of the script.
    [Fact]
    public void A_gap_of_cloud_in_the_afternoon_is_no_all_clear()
    {
        var script = Hot(Rule).Each("18:03", "20:20", Surface(55)).Each("20:21", "20:46", Surface(44)).Each("20:47", "21:30", Surface(55))
            .Expect(Kept("20:21", TooHot, Easing, UnderInCloud), Kept("20:47", Easing, TooHot, OverLimitAgain));
        Assert.Equal(HotEpisode.Measured, script.Memory.Hot);
    }

    [Fact]
    public void Told_hastily_it_was_taken_back_after_minutes() =>
        Hot(Hasty).Each("18:03", "20:20", Surface(55)).Each("20:21", "20:46", Surface(44)).Each("20:47", "20:48", Surface(55))
            .Expect(
                Kept("20:21", TooHot, Easing, UnderByMargin), Told("20:31", Easing, Clear, UnderLongEnough), Told("20:48", Clear, TooHot, ReadingsOverLimit));

    [Fact]
    public void Under_a_cloud_it_is_said_how_soon_the_sun_would_have_it_hot_again()
    {
        var decision = Hot(Rule).Each("18:03", "20:20", Surface(55)).At("20:21", Surface(44)).Last!;
        Assert.Equal((UnderInCloud, false), (decision.Because, decision.Notify));
        Assert.InRange(decision.LeadMinutes, 1, 5);
    }

    [Fact]
    public void A_slow_evening_is_not_said_to_be_a_cloud()
    {
        var script = Hot(Rule);
        for (var minute = 3; minute < 60; minute++)
            script.At($"18:{minute:00}", Surface(50 - (0.125 * minute)));
        script.Expect(Kept("18:24", TooHot, Easing, UnderByMargin));
    }

    [Fact]
    public void In_the_evening_it_is_told_once_the_sun_can_do_no_more()
    {
        // 18:30 local is 23:30; the sun sets at about 01:50.
        var script = Hot(Rule).Each("18:03", "23:29", Surface(50));
        script.Each("23:30", "1.01:59", Surface(42));
        Assert.Equal((UnderLongEnough, Clear, true), (script.Last!.Because, script.Memory.State, script.Last.Notify));
        Assert.InRange(script.Last.At, Clock("1.00:00"), Clock("1.01:00"));
    }

    [Fact]
    public void At_night_ten_minutes_are_enough() => Hot(Rule, "1.03:01", "1.03:02")
        .Each("1.03:03", "1.03:13", Surface(46))
        .Expect(Kept("1.03:03", TooHot, Easing, UnderByMargin), Told("1.03:13", Easing, Clear, UnderLongEnough));

    [Theory]
    [InlineData(59, false)]
    [InlineData(61, true)]
    public void A_forecast_whose_upper_end_reaches_the_limit_within_the_hour_is_no_all_clear(int minutes, bool told)
    {
        var script = Hot(Rule with { Sun = null }).Each("18:03", "18:12", Surface(45))
            .At("18:12:30", Forecast(minutes, 48, 49)).At("18:13", Surface(45));
        AlertScript.Change[] expected =
            [Kept("18:03", TooHot, Easing, UnderByMargin), .. told ? [Told("18:13", Easing, Clear, UnderLongEnough)] : Array.Empty<AlertScript.Change>()];
        script.Expect(expected);
        // The next forecast is believed instead.
        if (!told)
            script.At("18:13:30", Forecast(59, 47, 48.9)).At("18:14", Surface(45)).Expect(Told("18:14", Easing, Clear, UnderLongEnough));
    }

    [Theory]
    [InlineData(48.9, true)]
    [InlineData(49, false)]
    public void A_spot_that_the_sun_would_take_back_to_the_limit_is_not_called_off(double upperWithSun, bool told)
    {
        var script = Hot(Rule with { Sun = null }).Each("18:03", "18:12", Surface(45)).At("18:12:30", now => new Estimated(
            now, new SurfaceEstimate(now, 45, 42, 46), [new SurfaceEstimate(now.AddMinutes(40), 44, 41, 46)])
        {
            SunBack = [new SurfaceEstimate(now.AddMinutes(20), 44, 41, upperWithSun), new SurfaceEstimate(now.AddMinutes(40), 44, 41, 46)],
        }).At("18:13", Surface(45));
        script.Expect(
            [Kept("18:03", TooHot, Easing, UnderByMargin), .. told ? [Told("18:13", Easing, Clear, UnderLongEnough)] : Array.Empty<AlertScript.Change>()]);
    }

    [Fact]
    public void An_estimate_calls_off_only_what_the_sun_does_not_bring_back() =>
        new AlertScript(Rule).At("19:00", Surface(40)).At("19:10", Estimate(47, 50))
            .Expect(Kept("19:00", Silent, Clear, ReadingsBack), Told("19:10", Clear, Silent, EstimateOverLimit))
            .Each("19:11", "21:30", Estimate(42, 45)).Expect()
            .Each("1.02:00", "1.02:10", Estimate(42, 45)).Expect(Told("1.02:00", Silent, Silent, EstimateUnderLongEnough));

    [Theory]
    [InlineData(46.8, false, DoubtfulOverLimit, EstimateUnderLongEnough)]
    [InlineData(40, true, DoubtfulOverLimit, EstimateUnderLongEnough)]
    [InlineData(46.8, false, ForecastReachesLimit, RiseCalledOff)]
    [InlineData(40, true, ForecastReachesLimit, RiseCalledOff)]
    public void An_estimate_calls_off_nothing_that_the_sun_brings_back_by_a_reading_in_doubt(double doubted, bool toldByEstimate, AlertReason warning, AlertReason over)
    {
        var script = new AlertScript(Rule).At("19:00", Surface(40));
        if (warning == ForecastReachesLimit)
            script.At("19:01", Estimate(45, 46, in29Minutes: 50)).At("19:03", Nothing());
        else
            script.Each("19:01", "19:03", Suspect(50));
        Assert.Equal((Silent, true), (script.Memory.State, script.Memory.StandsTold || script.Memory.RiseTold));
        var before = script.Last;

        // The evening's low sun is worth less than 6 K.
        double Brought(double celsius, DateTimeOffset at) => Rule.Sun!.Celsius(celsius, at, Rule.AllClearHolds);
        var at = Clock("23:00");
        while (Brought(41, at) >= 47)
            at = at.AddMinutes(1);
        var late = at.AddMinutes(10);
        Assert.True(Brought(doubted, late) >= 49 != toldByEstimate);
        for (; script.Last == before && at < Clock("1.03:00"); at = at.AddMinutes(1))
            script.At(Text(at), Suspect(doubted)).At(Text(at), Estimate(38, 41));

        var told = script.Last!;
        Assert.Equal((over, true, 38.0, Math.Max(41, doubted)), (told.Because, told.Notify, told.SurfaceCelsius!.Value, told.UpperCelsius!.Value));
        Assert.Equal(toldByEstimate, told.At == late);
        Assert.True(Brought(told.UpperCelsius.Value, told.At) < 49);
    }

    [Fact]
    public void A_reading_in_doubt_that_is_old_holds_no_all_clear_back()
    {
        var script = new AlertScript(Rule with { Sun = null }).At("19:00", Surface(40)).Each("19:01", "19:03", Suspect(50)).Each("19:04", "19:14", Suspect(46.8))
            .Expect(Kept("19:00", Silent, Clear, ReadingsBack), Told("19:03", Clear, Silent, DoubtfulOverLimit))
            .Each("19:15", "19:25", Estimate(38, 41)).Expect(Told("19:25", Silent, Silent, EstimateUnderLongEnough));
        Assert.Equal(41, script.Last!.UpperCelsius);
    }

    [Fact]
    public void No_second_all_clear_comes_within_two_hours()
    {
        var script = Hot(Rule with { Sun = null }).Each("18:03", "18:13", Surface(45))
            .Expect(Kept("18:03", TooHot, Easing, UnderByMargin), Told("18:13", Easing, Clear, UnderLongEnough));
        script.Each("18:40", "18:41", Surface(50)).Expect(Kept("18:40", Clear, Silent, NoGoodReading), Told("18:41", Silent, TooHot, ReadingsOverLimit));
        script.Each("18:42", "20:13", Surface(45))
            .Expect(Kept("18:42", TooHot, Easing, UnderByMargin), Told("20:13", Easing, Clear, UnderLongEnough));
    }

    [Fact]
    public void A_line_through_the_first_sun_takes_no_all_clear_back()
    {
        var script = Hot(Rule, "22:00", "22:01");
        var at = Clock("22:02");
        for (; script.Last!.Because != UnderLongEnough && at < Clock("1.02:00"); at = at.AddMinutes(1))
            script.At(Text(at), Surface(36));
        var told = script.Last;
        Assert.Equal((UnderLongEnough, true), (told.Because, told.Notify));
        for (var minute = 1; minute < 20; minute++)
            script.At(Text(told.At.AddMinutes(minute)), Surface(36 + (0.5 * Math.Min(minute, 12))));
        Assert.Same(told, script.Last);
    }

    [Fact]
    public void A_grate_is_as_hot_as_the_sun_makes_it_at_once() => Assert.Equal(
        Clock("18:00"),
        SunReturn.Of(Plaza with { Surface = SurfaceKind.MetalGrate }).Reaches(40, 49, Clock("18:00"), TimeSpan.FromHours(1)));

    /// <summary>Asphalt, concrete and timber as slabs that conduct, store and lose heat, within the handbook's spread, under clouds that come and go.</summary>
    [Theory]
    [InlineData(SurfaceKind.Asphalt)]
    [InlineData(SurfaceKind.ConcreteGrey)]
    [InlineData(SurfaceKind.Sand)]
    [InlineData(SurfaceKind.TimberDeck)]
    public void Over_random_days_of_cloud_no_walker_gets_a_clear_that_is_taken_back_within_the_hour(SurfaceKind kind)
    {
        var spot = Plaza with { Surface = kind };
        var rule = Rule with { Sun = SunReturn.Of(spot) };
        var (clears, hastyTakenBack) = (0, 0);
        for (var seed = 1; seed <= 40; seed++)
        {
            var day = CloudyDay(spot, seed);
            var told = ToldOn(day, rule);
            clears += told.Count(d => d.IsOver);
            Assert.True(TakenBack(told) is null, $"seed {seed}: {TakenBack(told)}");
            hastyTakenBack += TakenBack(ToldOn(day, rule with { Sun = null, AllClearHolds = TimeSpan.Zero, AllClearQuiet = TimeSpan.Zero })) is null ? 0 : 1;
        }

        Assert.True(clears >= 20, $"{clears} all-clears on 40 days");
        Assert.True(hastyTakenBack >= 10, $"hastily told, {hastyTakenBack} of 40 days took one back");
    }

    private static string Text(DateTimeOffset moment) => (moment - Clock("00:00")).ToString(@"d\.hh\:mm", CultureInfo.InvariantCulture);

    private static AlertScript Hot(AlertRule rule, string first = "18:01", string second = "18:02") => new AlertScript(rule)
        .At(first, Surface(52)).At(second, Surface(52)).Expect(Told(second, Silent, TooHot, ReadingsOverLimit));

    private static Func<DateTimeOffset, AlertInput> Forecast(int minutes, double celsius, double upper) => now => new Estimated(
        now, new SurfaceEstimate(now, 45, 42, 46), [new SurfaceEstimate(now.AddMinutes(minutes), celsius, celsius - 3, upper)]);

    private static string? TakenBack(IReadOnlyList<AlertDecision> told)
    {
        var over = told.Where(d => d.IsOver).ToList();
        return over.SelectMany(o => told.Where(d => d.IsWarning && d.At > o.At && d.At - o.At < TimeSpan.FromHours(1))
            .Select(d => $"clear at {o.At:HH:mm} with {o.SurfaceCelsius:F1} °C, {d.Because} at {d.At:HH:mm}")).FirstOrDefault();
    }

    private static List<AlertDecision> ToldOn(IEnumerable<(DateTimeOffset At, double Celsius)> day, AlertRule rule)
    {
        var memory = AlertMemory.Start(Clock("00:00"));
        var told = new List<AlertDecision>();
        foreach (var (at, celsius) in day)
        {
            var (next, decision) = AlertMachine.Step(memory, new Measured(at, new Reading(Plaza.Id, at) { SurfaceCelsius = celsius }), rule);
            memory = next;
            if (decision is { Notify: true })
                told.Add(decision);
        }

        return told;
    }

    // From six in the morning to ten in the evening by Ferngate's clock. Computed ourselves: layers of 5 mm, steps of 15 s.
    private static IEnumerable<(DateTimeOffset At, double Celsius)> CloudyDay(Spot spot, int seed)
    {
        const double LayerMeters = 0.005, StepSeconds = 15, Diffusivity = 5e-7;
        var random = new Random(seed);
        double Between(double least, double most) => least + ((most - least) * random.NextDouble());
        var kind = SurfaceCatalogue.Of(spot.Surface);
        var effusivity = Between(kind.EffusivityWattRootSecondsPerSquareMeterKelvin.Low, 1.5 * kind.EffusivityWattRootSecondsPerSquareMeterKelvin.Low);
        var absorptance = Between(kind.AbsorptanceFraction.Low, kind.AbsorptanceFraction.High);
        var loss = Between(StepHeating.CalmLossWattsPerSquareMeterKelvin, 20);
        var noon = Between(30, 38);
        var conductivity = effusivity * Math.Sqrt(Diffusivity);
        var storage = effusivity / Math.Sqrt(Diffusivity);
        var layers = Enumerable.Repeat(26.0, 60).ToArray();
        var (passed, until) = (1.0, Clock("11:00"));
        for (var at = Clock("11:00"); at < Clock("1.03:00"); at = at.AddSeconds(StepSeconds))
        {
            if (at >= until)
            {
                passed = passed < 1 ? 1 : Between(0.05, 0.7);
                until = at.AddMinutes(-Math.Log(1 - random.NextDouble()) * (passed < 1 ? 20 : 25));
            }

            var sun = passed * ClearSky.GlobalWattsPerSquareMeter(SolarPosition.At(at, spot.LatitudeDegrees, spot.LongitudeDegrees).ElevationDegrees);
            var air = noon - 8 - (8 * Math.Cos((at - Clock("11:00")).TotalHours / 16 * 2 * Math.PI));
            var next = (double[])layers.Clone();
            next[0] += StepSeconds / (storage * LayerMeters / 2)
                * ((absorptance * sun) - (loss * (layers[0] - air)) - 50 + (conductivity / LayerMeters * (layers[1] - layers[0])));
            for (var i = 1; i < layers.Length - 1; i++)
                next[i] += StepSeconds * Diffusivity / (LayerMeters * LayerMeters) * (layers[i - 1] - (2 * layers[i]) + layers[i + 1]);
            layers = next;
            if (at.Second == 0)
                yield return (at, layers[0] + Between(-0.2, 0.2));
        }
    }
}
