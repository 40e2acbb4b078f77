using PavementWatch.Core.Contact;
using PavementWatch.Core.Readings;
using PavementWatch.Core.Surfaces;
using PavementWatch.Dashboards.Days;
using PavementWatch.Dashboards.Tests.Hosting;
using PavementWatch.Tests;

namespace PavementWatch.Dashboards.Tests.Days;

/// <summary>What a walk's ground adds up to, by the days of its spots.</summary>
public class WalkDoseTests
{
    private const string ByHand = "worked by hand from the ASTM C1055 row: 49.366 °C in 5 min, 48.292 °C in 10 min";

    private static readonly DateTimeOffset Midnight = new(2026, 7, 14, 5, 0, 0, TimeSpan.Zero);
    private static readonly DateTimeOffset Noon = Midnight.AddHours(12);

    [Fact]
    public void Each_spot_has_the_same_time_at_the_upper_end_of_what_is_estimated()
    {
        var dose = WalkDose.Of([Green(25), Plaza(48.292)], Noon, Noon.AddMinutes(12))!;
        // Six minutes of grass count nothing, six of the plaza six tenths.
        Published.Near(0.6, dose.Dose.Fraction!.Value, 5e-4, ByHand);
        Assert.Equal((null, 2, "North Gate plaza"), (dose.HurtFrom, dose.SpotCount, dose.HottestSpot));
        Assert.Empty(dose.UnknownSpots);
    }

    [Fact]
    public void Skin_is_hurt_from_the_moment_at_which_it_adds_up_in_the_order_walked()
    {
        var dose = WalkDose.Of([Green(25), Plaza(49.366)], Noon, Noon.AddMinutes(20))!;
        Published.Near(15, (dose.HurtFrom!.Value - Noon).TotalMinutes, 0.02, ByHand);
        var other = WalkDose.Of([Plaza(49.366), Green(25)], Noon, Noon.AddMinutes(20))!;
        Published.Near(5, (other.HurtFrom!.Value - Noon).TotalMinutes, 0.02, ByHand);
        Published.Near(2, other.Dose.Fraction!.Value, 5e-3, ByHand);
    }

    [Fact]
    public void Ground_that_was_measured_counts_with_what_its_sensor_leaves_open_and_by_its_hottest_reading()
    {
        double Of(double mean, double? hottest) => WalkDose.Of(
            [Stop(Every(5, Noon.AddHours(-1), Noon.AddHours(1)).Select(at => new DayPoint(at, mean, 35, null, null, null) { HottestCelsius = hottest }))], Noon, Noon.AddMinutes(5))!.Dose.Fraction!.Value;
        var plain = ContactDose.Of([new(46, TimeSpan.FromMinutes(5))]).Fraction!.Value;
        Assert.True(Of(46, null) > 1.5 * plain, $"{Of(46, null)} is not well over {plain}");
        Assert.Equal(Of(46, null), Of(46, 46), 9);
        Assert.Equal(Of(48, null), Of(46, 48), 9);
    }

    [Theory]
    [InlineData(20, true)]
    [InlineData(25, false)]
    public void Between_moments_too_far_apart_nothing_is_known(int minutesApart, bool known)
    {
        var around = Stop([Estimated(Noon.AddMinutes(-10), 46), Estimated(Noon.AddMinutes(minutesApart - 10), 45)]);
        var dose = WalkDose.Of([around], Noon, Noon.AddMinutes(5))!;
        Assert.Equal(known, dose.Dose.Fraction is not null);
        string[] unknown = known ? [] : ["North Gate plaza"];
        Assert.Equal(unknown, dose.UnknownSpots);
        // The hotter of both sides.
        if (known)
            Assert.Equal(ContactDose.Of([new(46, TimeSpan.FromMinutes(5))]).Fraction!.Value, dose.Dose.Fraction!.Value, 12);
    }

    [Fact]
    public void A_spot_of_which_nothing_is_known_makes_the_dose_unknown_and_never_smaller()
    {
        var dose = WalkDose.Of([Plaza(48.292), new WalkStop("Quarry Steps", []), Stop([])], Noon, Noon.AddMinutes(12))!;
        Assert.Equal((null, null), (dose.Dose.Fraction, dose.HurtFrom));
        Assert.Equal(["Quarry Steps", "North Gate plaza"], dose.UnknownSpots);

        // It hurts already by what is known.
        var hurts = WalkDose.Of([new WalkStop("Quarry Steps", []), Plaza(49.366)], Noon, Noon.AddMinutes(20))!;
        Published.Near(15, (hurts.HurtFrom!.Value - Noon).TotalMinutes, 0.02, ByHand);
        Assert.False(hurts.Dose.IsWhole);
    }

    [Theory]
    [InlineData(48.9, false)]
    [InlineData(49.0, true)]
    public void Of_a_spot_that_was_never_measured_only_a_warning_is_believed(double upper, bool believed)
    {
        var never = new WalkStop("North Gate plaza", [Day(Every(10, Midnight, Midnight.AddDays(1)).Select(at => Estimated(at, upper))) with { NeverMeasured = true }]);
        Assert.Equal(believed, WalkDose.Of([never], Noon, Noon.AddMinutes(5))!.Dose.Fraction is not null);
    }

    [Fact]
    public void What_a_sensor_in_doubt_says_over_the_limit_is_taken_as_said()
    {
        var day = Plaza(40).Days[0];
        double Of(SpotDay of) => WalkDose.Of([new("North Gate plaza", [of])], Noon, Noon.AddMinutes(5))!.Dose.Fraction!.Value;
        var doubted = new DoubtedSpan(Noon, Noon.AddHours(1), Doubt.SensorHeating) { HottestCelsius = 55 };
        Assert.True(Of(day with { Doubted = [doubted] }) > 5);
        Assert.Equal(0, Of(day with { Doubted = [doubted with { HottestCelsius = 45 }] }));
        Assert.Equal(0, Of(day with { Doubted = [doubted with { From = Noon.AddMinutes(5) }] }));
    }

    [Fact]
    public void A_walk_over_midnight_is_of_both_days()
    {
        var (today, tomorrow) = (Day(Every(10, Midnight, Midnight.AddDays(1)).Select(at => Estimated(at, 48.292))), Day([]) with
        {
            Day = new(2026, 7, 15),
            From = Midnight.AddDays(1),
            To = Midnight.AddDays(2),
            Points = [.. Every(10, Midnight.AddDays(1), Midnight.AddDays(1).AddHours(1)).Select(at => Estimated(at, 48.292))],
        });
        var (from, to) = (Midnight.AddDays(1).AddMinutes(-3), Midnight.AddDays(1).AddMinutes(3));
        Published.Near(0.6, WalkDose.Of([new("plaza", [today, tomorrow])], from, to)!.Dose.Fraction!.Value, 5e-4, ByHand);
        Assert.Null(WalkDose.Of([new("plaza", [today])], Midnight.AddDays(1).AddMinutes(-3), Midnight.AddDays(1).AddMinutes(10))!.Dose.Fraction);
    }

    [Fact]
    public void The_spot_with_the_largest_share_is_named_and_none_where_no_ground_hurts()
    {
        WalkStop Steps(double upper) => new("Quarry Steps", Plaza(upper).Days);
        Assert.Equal("Quarry Steps", WalkDose.Of([Plaza(48), Steps(48.5), Green(25)], Noon, Noon.AddMinutes(12))!.HottestSpot);
        // Both hurt at once.
        Assert.Equal("North Gate plaza", WalkDose.Of([Plaza(70), Steps(71)], Noon, Noon.AddMinutes(12))!.HottestSpot);
        Assert.Null(WalkDose.Of([Plaza(25), Steps(26)], Noon, Noon.AddMinutes(12))!.HottestSpot);
        Assert.Equal("Quarry Steps", WalkDose.Of([Stop([]), Steps(48)], Noon, Noon.AddMinutes(12))!.HottestSpot);
    }

    [Fact]
    public void A_walk_without_spots_or_time_has_no_dose()
    {
        Assert.Null(WalkDose.Of([], Noon, Noon.AddMinutes(5)));
        Assert.Null(WalkDose.Of([Plaza(50)], Noon, Noon));
    }

    private static WalkStop Plaza(double upper) => Stop(Every(10, Midnight, Midnight.AddDays(1)).Select(at => Estimated(at, upper)));

    private static WalkStop Green(double upper) => new("Orchard Green", Plaza(upper).Days);

    private static WalkStop Stop(IEnumerable<DayPoint> points) => new("North Gate plaza", [Day(points)]);

    private static IEnumerable<DateTimeOffset> Every(int minutes, DateTimeOffset from, DateTimeOffset to)
    {
        for (var at = from; at <= to; at = at.AddMinutes(minutes))
            yield return at;
    }

    private static DayPoint Estimated(DateTimeOffset at, double upper) => new(at, null, 35, upper - 3, upper - 6, upper);

    private static SpotDay Day(IEnumerable<DayPoint> points) => new(
        new Spot(SpotId.Parse("north-gate-plaza"), "North Gate plaza", SurfaceKind.Asphalt, 37.4, -97.0, Ferngate.Zone),
        new(2026, 7, 14), Midnight, Midnight.AddDays(1), [.. points], []);
}
