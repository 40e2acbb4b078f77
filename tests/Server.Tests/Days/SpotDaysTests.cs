using PavementWatch.Core.Readings;
using PavementWatch.Core.Surfaces;
using PavementWatch.Dashboards.Days;
using PavementWatch.Server.Fitting;
using PavementWatch.Server.Tests.Store;
using PavementWatch.Server.Tests.Watch;
using static PavementWatch.Server.Tests.Api.RunningServer;

namespace PavementWatch.Server.Tests.Days;

public sealed class SpotDaysTests
{
    private static readonly DateOnly Today = new(2026, 7, 14);

    private static CancellationToken Cancel => TestContext.Current.CancellationToken;

    [Fact]
    public async Task A_day_has_what_was_measured_and_estimates_for_the_gap_and_the_hours_ahead()
    {
        await using var server = await StartAsync();
        // Measured to 10:00 and from 11:00 local; nothing in between.
        var gapFrom = Noon.AddHours(-2);
        var gapTo = Noon.AddHours(-1);
        await server.MeasureAsync(WatchTests.HotMorning(NorthGate).Where(r => r.MeasuredAt <= gapFrom || r.MeasuredAt >= gapTo));

        var day = (await server.Get<ISpotDays>().DayAsync(NorthGate.Id, Today, Cancel))!;

        Assert.Equal(new DateTimeOffset(2026, 7, 14, 5, 0, 0, TimeSpan.Zero), day.From);
        Assert.Equal(TimeSpan.FromHours(24), day.To - day.From);
        var measured = day.Points.Where(p => p.SurfaceCelsius is not null).ToList();
        var estimated = day.Points.Where(p => p.EstimateCelsius is not null).ToList();
        Assert.Equal(54, measured.Single(p => p.At == Noon).SurfaceCelsius!.Value, 1e-9);
        Assert.DoesNotContain(measured, p => p.At > gapFrom && p.At < gapTo);
        Assert.Contains(estimated, p => p.At > gapFrom && p.At < gapTo);
        Assert.Contains(estimated, p => p.At > Noon.AddHours(6));
        Assert.All(estimated, p => Assert.True(p.LowerCelsius < p.EstimateCelsius && p.EstimateCelsius < p.UpperCelsius));
        Assert.DoesNotContain(estimated, p => measured.Any(m => (m.At - p.At).Duration() < TimeSpan.FromMinutes(5)));
        Assert.Equal(day.Points.OrderBy(p => p.At), day.Points);
    }

    [Fact]
    public async Task A_day_that_was_measured_throughout_asks_for_no_weather()
    {
        await using var server = await StartAsync(spots: [NorthGate], services: CountingStore.Wrap);
        var (from, to) = (new DateTimeOffset(2026, 7, 13, 5, 0, 0, TimeSpan.Zero), new DateTimeOffset(2026, 7, 14, 5, 0, 0, TimeSpan.Zero));
        await server.MeasureAsync(Enumerable.Range(-288, 576).Select(i => from.AddMinutes(5 * (i + 1)))
            .Append(Noon).Select(at => Good(NorthGate, at, 40)));
        await server.SeenAsync(NorthGate, s => s.MeasuredAt == Noon);
        var store = server.Get<CountingStore>();

        store.Clear();
        var yesterday = (await server.Get<ISpotDays>().DayAsync(NorthGate.Id, Today.AddDays(-1), Cancel))!;
        Assert.Equal([(NorthGate.Id, from, to)], store.Steps);
        Assert.Equal((288, true), (yesterday.Points.Count, yesterday.Points.All(p => p.EstimateCelsius is null)));
    }

    [Fact]
    public async Task Too_hot_spans_join_what_is_over_the_limit_and_keep_measured_and_estimated_apart()
    {
        await using var server = await StartAsync();
        // 24 + 30 cos: over 49 °C while cos > 5/6, that is from 2.24 h before noon (14:45:44 UTC) by arithmetic.
        await server.MeasureAsync(WatchTests.HotMorning(NorthGate));

        var day = (await server.Get<ISpotDays>().DayAsync(NorthGate.Id, Today, Cancel))!;

        var first = day.TooHot[0];
        Assert.Equal((new DateTimeOffset(2026, 7, 14, 14, 50, 0, TimeSpan.Zero), false), (first.From, first.Estimated));
        Assert.InRange(first.To, Noon, Noon.AddMinutes(20));
        var rest = day.TooHot.Skip(1).ToList();
        Assert.NotEmpty(rest);
        Assert.All(rest, s => Assert.True(s.Estimated));
        Assert.True(rest[^1].To < Noon.AddHours(8));
    }

    [Fact]
    public async Task What_a_sensor_in_doubt_said_over_the_limit_is_among_the_spans_too_hot()
    {
        await using var server = await StartAsync();
        // Cool enough that no estimate reaches the limit; the sensor, warmed by the sun, says 55 for an hour.
        var (from, to) = (Noon.AddHours(-1), Noon);
        await server.MeasureAsync(Enumerable.Range(-72, 73).Select(i => Noon.AddMinutes(5 * i)).Select(at => at > from
            ? Good(NorthGate, at, 55, 20) with { Quality = ReadingQuality.Suspect, Doubt = Doubt.SensorHeating }
            : Good(NorthGate, at, 22, 20)));

        var day = (await server.Get<ISpotDays>().DayAsync(NorthGate.Id, Today, Cancel))!;

        Assert.Equal(55, Assert.Single(day.Doubted).HottestCelsius);
        var span = Assert.Single(day.TooHot);
        Assert.True(span.From <= from.AddMinutes(5) && span.To >= to.AddMinutes(-5) && span.Estimated, $"{span}");
    }

    [Fact]
    public async Task The_outermost_readings_of_a_point_and_of_a_doubt_are_kept()
    {
        await using var server = await StartAsync();
        var doubted = Noon.AddHours(-1);
        await server.MeasureAsync(Enumerable.Range(-180, 181).Select(i => Noon.AddMinutes(i)).Select(at => at > doubted
            ? Good(NorthGate, at, at == Noon ? -1.5 : 3, 20) with { Quality = ReadingQuality.Suspect, Doubt = Doubt.Disagrees }
            // One minute in five peaks, one freezes.
            : Good(NorthGate, at, (at.Minute % 5) switch { 1 => 49.6, 2 => -0.4, _ => 40 }, 20)));

        var day = (await server.Get<ISpotDays>().DayAsync(NorthGate.Id, Today, Cancel))!;

        var point = day.Points.First(p => p.At == Noon.AddHours(-2));
        Assert.Equal((49.6, -0.4), (point.HottestCelsius, point.ColdestCelsius));
        Assert.InRange(point.SurfaceCelsius!.Value, 33, 35);
        Assert.Equal((3, -1.5, true), Assert.Single(day.Doubted) is var span ? (span.HottestCelsius!.Value, span.ColdestCelsius!.Value, span.IsFreezing) : default);
    }

    [Fact]
    public async Task A_day_without_readings_has_no_points_and_an_unknown_spot_no_day()
    {
        await using var server = await StartAsync();
        await server.MeasureAsync(WatchTests.HotMorning(NorthGate));
        var days = server.Get<ISpotDays>();

        Assert.Empty((await days.DayAsync(NorthGate.Id, Today.AddDays(-30), Cancel))!.Points);
        Assert.Empty((await days.DayAsync(NorthGate.Id, Today.AddDays(30), Cancel))!.Points);
        Assert.Empty((await days.DayAsync(QuarrySteps.Id, Today, Cancel))!.Points);
        Assert.Null(await days.DayAsync(SpotId.Parse("nowhere"), Today, Cancel));
        Assert.Null(days.Today(SpotId.Parse("nowhere")));
        Assert.Equal(Today, days.Today(NorthGate.Id));
    }

    [Theory]
    [InlineData("America/Chicago", "2026-03-08", 23, "clocks go forward at 02:00")]
    [InlineData("America/Chicago", "2026-11-01", 25, "clocks go back at 02:00")]
    [InlineData("America/Santiago", "2026-09-06", 23, "clocks go forward at midnight, which never strikes")]
    [InlineData("America/Chicago", "2026-07-14", 24, "an ordinary day")]
    public async Task A_local_day_is_as_long_as_its_clocks_make_it(string zone, string day, int hours, string why)
    {
        var spot = new Spot(SpotId.Parse("elsewhere"), "Elsewhere", SurfaceKind.Stone, zone == "America/Santiago" ? -33.4 : 37.4, zone == "America/Santiago" ? -70.7 : -97, zone);
        await using var server = await StartAsync(spots: [spot]);

        var found = (await server.Get<ISpotDays>().DayAsync(spot.Id, DateOnly.Parse(day), Cancel))!;

        Assert.True(TimeSpan.FromHours(hours) == found.To - found.From, why);
    }

    [Theory]
    [InlineData("2026-07-14T08:09:59Z", "2026-07-13T08:10:00Z", "a second before 03:10 in Ferngate")]
    [InlineData("2026-07-14T08:10:00Z", "2026-07-14T08:10:00Z", "at 03:10")]
    [InlineData("2026-03-08T12:00:00Z", "2026-03-08T08:10:00Z", "after the clocks went forward")]
    [InlineData("2026-03-07T12:00:00Z", "2026-03-07T09:10:00Z", "the day before that")]
    public void The_nightly_fit_is_due_by_the_spots_own_clock(string now, string due, string why) =>
        Assert.True(
            DateTimeOffset.Parse(due) == NightlyFits.LastDue(NorthGate, new TimeSpan(3, 10, 0), DateTimeOffset.Parse(now)), why);
}
