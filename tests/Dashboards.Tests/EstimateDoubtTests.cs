using PavementWatch.Core.Offsets;
using PavementWatch.Core.Readings;
using PavementWatch.Core.Surfaces;
using PavementWatch.Dashboards.Analyst;
using PavementWatch.Dashboards.Days;
using PavementWatch.Dashboards.Spots;
using PavementWatch.Dashboards.Tests.Hosting;
using PavementWatch.Dashboards.Texts;

namespace PavementWatch.Dashboards.Tests;

/// <summary>Why an estimate is less sure, as people and programs read it.</summary>
public class EstimateDoubtTests
{
    private const EstimateDoubt All = EstimateDoubt.HandbookOnly | EstimateDoubt.MaybeWet | EstimateDoubt.HotterThanSeen
        | EstimateDoubt.ColderThanSeen | EstimateDoubt.AirGuessed;

    private static readonly DateTimeOffset Midnight = new(2026, 7, 14, 5, 0, 0, TimeSpan.Zero);

    private static CancellationToken Cancel => TestContext.Current.CancellationToken;

    [Fact]
    public void Every_doubt_has_words_and_what_may_be_hotter_stands_first()
    {
        Assert.Equal("", EstimateDoubtTexts.Of(EstimateDoubt.None));
        Assert.Equal(["hotterThanSeen", "handbookOnly", "airGuessed", "colderThanSeen", "maybeWet"], EstimateDoubtTexts.Names(All));
        foreach (var doubt in Enum.GetValues<EstimateDoubt>().Where(d => d != EstimateDoubt.None))
        {
            Assert.DoesNotContain("unknown reason", EstimateDoubtTexts.Of(doubt), StringComparison.Ordinal);
            // Words for people, not names of a program.
            Assert.DoesNotContain(doubt.ToString(), EstimateDoubtTexts.Of(doubt), StringComparison.OrdinalIgnoreCase);
        }
    }

    [Fact]
    public void Wetness_changes_no_word_no_contact_time_and_no_place_in_the_list()
    {
        var spots = Ferngate.Spots(Ferngate.Now).Where(s => s.SurfaceCelsius is not null)
            .Select(s => s with { Estimated = true, LowerCelsius = s.SurfaceCelsius - 4, UpperCelsius = s.SurfaceCelsius + 4 }).ToList();
        foreach (var dry in spots)
        {
            var wet = dry with { EstimateDoubt = EstimateDoubt.MaybeWet };
            var (before, after) = (SpotNowJson.Of(dry, TemperatureUnit.Both), SpotNowJson.Of(wet, TemperatureUnit.Both));
            Assert.Equal((before.Word, before.ContactSeconds, before.UpperCelsius, before.Texts with { Doubt = "" }), (after.Word, after.ContactSeconds, after.UpperCelsius, after.Texts with { Doubt = "" }));
            Assert.Equal("Less sure: may be wet, then probably cooler than this, but do not count on it", after.Texts.Doubt);
            Assert.Equal(
                SpotOrder.ByGravity(spots).Select(s => s.Id),
                SpotOrder.ByGravity(spots.Select(s => s.Id == dry.Id ? wet : s)).Select(s => s.Id));
        }
    }

    [Fact]
    public async Task Card_says_it_in_words_beside_the_estimate_and_a_measured_one_says_nothing()
    {
        await using var host = await DashboardHost.StartAsync();
        var spot = host.Board.All()[0] with { Estimated = true, LowerCelsius = 40, UpperCelsius = 50 };
        host.Board.Reset(spot with { EstimateDoubt = EstimateDoubt.HandbookOnly });
        foreach (var path in new[] { "/", $"/spots/{spot.Id}" })
        {
            var page = await host.Client.GetStringAsync(path, Cancel);
            Assert.Contains("data-part=\"doubt\">Less sure: no reading here to learn from, this is what such ground usually does</p>", page, StringComparison.Ordinal);
            Assert.Contains("\"estimateDoubts\":[\"handbookOnly\"]", page, StringComparison.Ordinal);
        }

        host.Board.Reset(spot);
        Assert.Contains("data-part=\"doubt\" hidden></p>", await host.Client.GetStringAsync("/", Cancel), StringComparison.Ordinal);
    }

    [Fact]
    public void Day_tells_each_doubt_with_its_times()
    {
        var day = Day(
            [.. Enumerable.Range(0, 24).Select(i => Estimated(4 + i / 6.0, i is > 5 and < 12 ? EstimateDoubt.MaybeWet | EstimateDoubt.HandbookOnly : EstimateDoubt.HandbookOnly))]);
        var sentences = DaySummary.Sentences(day, At(12), TemperatureUnit.Both);
        Assert.Contains("Wherever it is estimated the estimate is less sure: no reading here to learn from, this is what such ground usually does.", sentences);
        Assert.Contains("From 05:00 to 05:50 the estimate is less sure: may be wet, then probably cooler than this, but do not count on it.", sentences);
        Assert.Equal([(At(5), At(5).AddMinutes(50))], SpotDayJson.Of(day).Doubts.Where(d => d.Kind == "maybeWet").Select(d => (d.From, d.To)));
        Assert.All(DayHour.Of(day).Skip(4).Take(4), hour => Assert.True(hour.LessSure));
        Assert.DoesNotContain(DayHour.Of(day).Take(4), hour => hour.LessSure);
    }

    [Fact]
    public void Air_of_the_coming_hours_is_told_once()
    {
        var day = Day([.. Enumerable.Range(0, 12).Select(i => Estimated(12 + i / 6.0, EstimateDoubt.AirGuessed))])
            with
        { Coming = new ComingHours(At(12), null, false) };
        Assert.Single(DaySummary.Sentences(day, At(12), TemperatureUnit.Both), s => s.Contains("repeat its last day", StringComparison.Ordinal));
        Assert.DoesNotContain(DayHour.Of(day), hour => hour.LessSure);
    }

    [Fact]
    public void Analyst_sees_how_good_the_estimate_was_under_each_doubt()
    {
        ResidualPoint Point(double residual, EstimateDoubt doubt, bool inside) =>
            new(At(12), residual, 12, 60, 30, Learned: false) { Doubt = doubt, Inside = inside };
        var rows = DoubtRow.Of([Point(1, EstimateDoubt.None, true), Point(-3, EstimateDoubt.MaybeWet, false), Point(-5, EstimateDoubt.MaybeWet | EstimateDoubt.ColderThanSeen, true)]);
        Assert.Equal(
            [("nothing", 1), ("colder air than beside any reading here", 1), ("may be wet, then probably cooler than this, but do not count on it", 2)],
            rows.Select(r => (r.Why, r.Count)));
        // (−3 − 5) / 2 and √((9 + 25) / 2) by definition.
        Assert.Equal((-4, Math.Sqrt(17), 50), (rows[2].MeanKelvin, rows[2].RmseKelvin, rows[2].InsidePercent));
        Assert.Null(Assert.Single(DoubtRow.Of([])).RmseKelvin);
    }

    private static SpotDay Day(params DayPoint[] points) => new(
        new Spot(SpotId.Parse("north-gate-plaza"), "North Gate plaza", SurfaceKind.Asphalt, 37.4, -97.0, Ferngate.Zone),
        new DateOnly(2026, 7, 14), Midnight, Midnight.AddDays(1), points, []);

    private static DayPoint Estimated(double hour, EstimateDoubt doubt) => new(At(hour), null, 30, 45, 41, 49) { Doubt = doubt };

    private static DateTimeOffset At(double hour) => Midnight.AddMinutes(Math.Round(60 * hour));
}
