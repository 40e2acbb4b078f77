using PavementWatch.Core.Readings;
using PavementWatch.Server.Store;
using static PavementWatch.Server.Tests.Store.SomeReadings;

namespace PavementWatch.Server.Tests.Store;

/// <summary>What every reading store promises. Each store's test class gives a fresh, empty one.</summary>
public abstract class ReadingStoreContract : IAsyncLifetime
{
    private IReadingStore? _store;

    private protected IReadingStore Store => _store ?? throw new InvalidOperationException("not initialised");

    private protected static CancellationToken Stop => TestContext.Current.CancellationToken;

    private protected abstract ValueTask<IReadingStore> OpenAsync();

    public async ValueTask InitializeAsync() => _store = await OpenAsync();

    public virtual async ValueTask DisposeAsync()
    {
        if (_store is IAsyncDisposable closing)
            await closing.DisposeAsync();
        GC.SuppressFinalize(this);
    }

    [Fact]
    public async Task What_is_appended_comes_back_equal()
    {
        StoredReading everything = new(
            new Reading(Plaza, At("14:00:00.250"))
            {
                SurfaceCelsius = 58.123456789012345,
                AirCelsius = -0.5,
                HumidityPercent = 0,
                SensorCelsius = 1e-9,
                LightLux = 120_000,
                SupplyVolts = 12.6,
                Quality = ReadingQuality.Suspect,
                Doubt = Doubt.Spike | Doubt.Wet | Doubt.SensorHeating | Doubt.Clock,
            },
            At("14:00:03.004"));
        StoredReading onlyAir = new(new Reading(Plaza, At("14:01")) { AirCelsius = 31 }, At("14:01:01"));
        StoredReading nothing = new(
            new Reading(Plaza, At("14:02")) { Quality = ReadingQuality.Rejected, Doubt = Doubt.CheckByte }, At("14:02:01"));

        var added = await Store.AppendAsync([everything, onlyAir, nothing], Stop);

        Assert.Equal([everything, onlyAir, nothing], added);
        Assert.Equal([everything, onlyAir, nothing], await Store.RangeAsync(Plaza, At("14:00"), At("15:00"), Stop));
    }

    [Fact]
    public async Task A_range_includes_its_start_and_not_its_end_and_is_in_time_order()
    {
        await Store.AppendAsync(
            [
                Good(Plaza, At("12:02"), 52), Good(Plaza, At("12:00"), 50), Good(Plaza, At("12:01"), 51),
                Good(Steps, At("12:01"), 30), Good(Plaza, At("11:59:59.999"), 49),
            ],
            Stop);

        var range = await Store.RangeAsync(Plaza, At("12:00"), At("12:02"), Stop);

        Assert.Equal([50, 51], range.Select(stored => stored.Reading.SurfaceCelsius));
        Assert.Empty(await Store.RangeAsync(Plaza, At("12:00"), At("12:00"), Stop));
        Assert.Empty(await Store.RangeAsync(SpotId.Parse("nowhere"), At("12:00"), At("13:00"), Stop));
    }

    [Fact]
    public async Task The_same_spot_and_time_is_stored_once_and_left_as_it_was()
    {
        var first = Good(Plaza, At("12:00"), 50);
        await Store.AppendAsync([first], Stop);

        var again = await Store.AppendAsync([Good(Plaza, At("12:00"), 70), Good(Plaza, At("12:01"), 51)], Stop);

        Assert.Equal([At("12:01")], again.Select(stored => stored.Reading.MeasuredAt));
        Assert.Equal(
            [50, 51],
            (await Store.RangeAsync(Plaza, At("12:00"), At("13:00"), Stop)).Select(stored => stored.Reading.SurfaceCelsius));
    }

    [Fact]
    public async Task A_double_inside_one_batch_is_stored_once()
    {
        var added = await Store.AppendAsync([Good(Plaza, At("12:00"), 50), Good(Plaza, At("12:00"), 51)], Stop);

        Assert.Equal([50], added.Select(stored => stored.Reading.SurfaceCelsius));
        Assert.Single(await Store.RangeAsync(Plaza, At("12:00"), At("13:00"), Stop));
    }

    [Fact]
    public async Task An_empty_batch_is_no_error() => Assert.Empty(await Store.AppendAsync([], Stop));

    [Fact]
    public async Task The_latest_of_each_spot_is_its_newest_whatever_came_last()
    {
        Assert.Empty(await Store.LatestAsync(Stop));
        await Store.AppendAsync([Good(Plaza, At("12:00"), 50, air: 30), Suspect(Plaza, At("12:05"), 80)], Stop);
        await Store.AppendAsync([Good(Steps, At("11:00"), 40), Good(Plaza, At("11:30"), 48)], Stop);

        var latest = await Store.LatestAsync(Stop);

        Assert.Equal(
            [Suspect(Plaza, At("12:05"), 80), Good(Steps, At("11:00"), 40)],
            latest.OrderBy(stored => stored.Reading.Spot.Value, StringComparer.Ordinal));
    }

    [Fact]
    public async Task The_latest_of_one_spot_is_its_newest_up_to_a_moment_whatever_other_spots_have()
    {
        Assert.Null(await Store.LatestAsync(Plaza, At("13:00"), Stop));
        await Store.AppendAsync([Good(Plaza, At("11:30"), 48), Suspect(Plaza, At("12:05"), 80), Good(Steps, At("12:30"), 40)], Stop);

        Assert.Equal(Suspect(Plaza, At("12:05"), 80), await Store.LatestAsync(Plaza, At("13:00"), Stop));
        Assert.Equal(Suspect(Plaza, At("12:05"), 80), await Store.LatestAsync(Plaza, At("12:05"), Stop));
        Assert.Equal(Good(Plaza, At("11:30"), 48), await Store.LatestAsync(Plaza, At("12:05").AddMilliseconds(-1), Stop));
        Assert.Null(await Store.LatestAsync(Plaza, At("11:00"), Stop));
    }

    [Fact]
    public async Task Steps_close_at_their_end_and_only_good_readings_make_the_means()
    {
        await Store.AppendAsync(
            [
                Good(Plaza, At("12:00"), 40, 30, 50), Good(Plaza, At("12:01"), 41, 31, 40), Good(Plaza, At("12:10"), 45, 33, 20),
                Suspect(Plaza, At("12:05"), 99), Suspect(Plaza, At("12:11"), 99), Good(Plaza, At("12:21"), null, 30),
            ],
            Stop);

        var steps = await Store.StepsAsync(Plaza, At("12:00"), At("12:30"), TimeSpan.FromMinutes(10), Stop);

        // Worked out by hand from the five readings above.
        Assert.Equal(
            [
                new ReadingStep(At("12:00"), 1, 1) { SurfaceCelsius = 40, SurfaceMaxCelsius = 40, SurfaceMinCelsius = 40, AirCelsius = 30, HumidityPercent = 50 },
                new ReadingStep(At("12:10"), 2, 3) { SurfaceCelsius = 43, SurfaceMaxCelsius = 45, SurfaceMinCelsius = 41, AirCelsius = 32, HumidityPercent = 30, Doubts = Doubt.Spike },
                new ReadingStep(At("12:20"), 0, 1) { Doubts = Doubt.Spike },
                new ReadingStep(At("12:30"), 1, 1) { AirCelsius = 30 },
            ],
            steps);
    }

    [Fact]
    public async Task A_day_in_ten_minute_steps_agrees_with_the_readings()
    {
        var day = WholeDay(Plaza);
        Assert.Equal(1440, (await Store.AppendAsync(day, Stop)).Count);

        Assert.Equal(day, await Store.RangeAsync(Plaza, Day, Day.AddDays(1), Stop));
        var steps = await Store.StepsAsync(Plaza, Day.AddTicks(1), Day.AddDays(1), TimeSpan.FromMinutes(10), Stop);
        Assert.Equal(144, steps.Count);
        Assert.Equal(1439, steps.Sum(step => step.Count));
        // Minutes 1 to 10 of the day: mean 5.5, highest 10, lowest 1, at 1/64 °C a minute from 20 °C.
        Assert.Equal(20 + 5.5 / 64, steps[0].SurfaceCelsius!.Value, 9);
        Assert.Equal((20 + 10 / 64.0, 20 + 1 / 64.0), (steps[0].SurfaceMaxCelsius, steps[0].SurfaceMinCelsius));
        Assert.Equal(Day.AddMinutes(10), steps[0].End);
    }

    [Fact]
    public async Task A_doubt_about_the_surface_leaves_the_air_and_a_warm_sensor_is_kept_apart()
    {
        StoredReading Doubted(string clock, double surface, double air, Doubt doubt, ReadingQuality quality = ReadingQuality.Suspect) => new(
            new Reading(Plaza, At(clock)) { SurfaceCelsius = surface, AirCelsius = air, HumidityPercent = air, Quality = quality, Doubt = doubt }, At(clock));
        await Store.AppendAsync(
            [
                Good(Plaza, At("12:01"), 50, 30, 30), Doubted("12:02", 40, 32, Doubt.Disagrees), Doubted("12:03", 54, 34, Doubt.SensorHeating),
                Doubted("12:04", 56, 36, Doubt.SensorHeating), Doubted("12:05", 90, 90, Doubt.SensorHeating | Doubt.Clock),
                Doubted("12:06", 91, 91, Doubt.OutOfRange, ReadingQuality.Rejected), Doubted("12:11", 41, 38, Doubt.Disagrees | Doubt.Wet),
            ],
            Stop);

        // Worked out by hand: air of 30, 32, 34 and 36; surface of 54 and 56 by a warm sensor.
        Assert.Equal(
            [
                new ReadingStep(At("12:10"), 1, 6)
                {
                    SurfaceCelsius = 50, SurfaceMaxCelsius = 50, SurfaceMinCelsius = 50, AirCelsius = 33, HumidityPercent = 33, HeatedSurfaceCelsius = 55,
                    Doubts = Doubt.Disagrees | Doubt.SensorHeating | Doubt.Clock | Doubt.OutOfRange,
                },
                new ReadingStep(At("12:20"), 0, 1) { AirCelsius = 38, HumidityPercent = 38, Doubts = Doubt.Disagrees | Doubt.Wet },
            ],
            await Store.StepsAsync(Plaza, At("12:00:00.001"), At("12:20"), TimeSpan.FromMinutes(10), Stop));
        Assert.Equal(
            [(Doubt.None, 1), (Doubt.Disagrees, 1), (Doubt.Disagrees | Doubt.Wet, 1), (Doubt.SensorHeating, 2), (Doubt.SensorHeating | Doubt.Clock, 1), (Doubt.OutOfRange, 1)],
            (await Store.DoubtsAsync(Plaza, At("12:00"), At("13:00"), Stop)).OrderBy(d => d.Key).Select(d => (d.Key, d.Value)));
        Assert.Equal([(Doubt.Disagrees, 2), (Doubt.SensorHeating, 3)], Counts(await Store.DoubtsAsync(Plaza, At("12:00"), At("13:00"), Stop)));

        static IEnumerable<(Doubt Doubt, int Count)> Counts(IReadOnlyDictionary<Doubt, int> found) =>
            PavementWatch.Dashboards.Analyst.DoubtedReadings.Of(found).Where(d => d.Count > 1).Select(d => (d.Doubt, d.Count)).OrderBy(d => d.Doubt);
    }

    [Fact]
    public async Task Readings_that_come_late_or_twice_are_in_their_step_as_if_they_had_come_in_order()
    {
        await Store.AppendAsync([Good(Plaza, At("12:01"), 40, 30, 50), Good(Plaza, At("12:12"), 60)], Stop);
        // Late, the one already there, one of another spot, and one that shuts the step at its very end.
        await Store.AppendAsync([Good(Plaza, At("12:02"), 44, 32, 40), Good(Plaza, At("12:01"), 99), Good(Steps, At("12:03"), 10)], Stop);
        await Store.AppendAsync([Suspect(Plaza, At("12:03"), 99), Good(Plaza, At("12:10"), 48)], Stop);

        var steps = await Store.StepsAsync(Plaza, At("12:00:00.001"), At("12:20"), TimeSpan.FromMinutes(10), Stop);

        // Worked out by hand: 40, 44 and 48 are good; 30 and 32 their air; 50 and 40 their humidity.
        Assert.Equal(
            [
                new ReadingStep(At("12:10"), 3, 4) { SurfaceCelsius = 44, SurfaceMaxCelsius = 48, SurfaceMinCelsius = 40, AirCelsius = 31, HumidityPercent = 45, Doubts = Doubt.Spike },
                new ReadingStep(At("12:20"), 1, 1) { SurfaceCelsius = 60, SurfaceMaxCelsius = 60, SurfaceMinCelsius = 60 },
            ],
            steps);
    }

    [Theory]
    [InlineData("11:55", "12:35")]
    [InlineData("12:00", "12:30")]
    [InlineData("12:00:00.001", "12:30:00.001")]
    [InlineData("12:02", "12:08")]
    [InlineData("12:08", "12:12")]
    [InlineData("12:10:00.001", "12:20")]
    [InlineData("12:10:00.001", "12:20:00.001")]
    [InlineData("12:20", "12:20")]
    public async Task A_span_that_cuts_through_steps_takes_only_its_own_readings(string from, string to)
    {
        await Store.AppendAsync([.. Enumerable.Range(0, 31).Select(minute => Good(Plaza, At("12:00").AddMinutes(minute), minute / 64.0, 30))], Stop);

        var steps = await Store.StepsAsync(Plaza, At(from), At(to), TimeSpan.FromMinutes(10), Stop);

        Assert.Equal(ReadingSteps.Of(await Store.RangeAsync(Plaza, At(from), At(to), Stop), TimeSpan.FromMinutes(10)), steps);
    }

    [Fact]
    public async Task Several_spans_are_answered_together()
    {
        await Store.AppendAsync([.. Enumerable.Range(0, 31).Select(minute => Good(Plaza, At("12:00").AddMinutes(minute), minute / 64.0))], Stop);

        var readings = await Store.RangesAsync(
            Plaza, [(At("11:00"), At("12:02")), (At("12:05"), At("12:05")), (At("12:10"), At("12:11")), (At("12:30"), At("13:00"))], Stop);

        Assert.Equal([0, 1, 10, 30], readings.Select(stored => stored.Reading.SurfaceCelsius * 64));
        Assert.Empty(await Store.RangesAsync(Plaza, [], Stop));
    }

    [Fact]
    public async Task Many_senders_at_once_lose_nothing_and_count_each_reading_once()
    {
        // 32 senders; every reading is sent by two of them, as after a lost acknowledgement.
        var senders = Enumerable.Range(0, 32).Select(sender => Task.Run(
            async () =>
            {
                var added = 0;
                for (var pack = 0; pack < 10; pack++)
                {
                    var from = (sender / 2 * 10 + pack) * 5;
                    var readings = Enumerable.Range(from, 5).Select(minute => Good(Plaza, Day.AddMinutes(minute), minute / 64.0));
                    added += (await Store.AppendAsync([.. readings], Stop)).Count;
                }

                return added;
            },
            Stop));

        var counts = await Task.WhenAll(senders);

        Assert.Equal(800, counts.Sum());
        Assert.Equal(
            Enumerable.Range(0, 800).Select(minute => (double?)(minute / 64.0)),
            (await Store.RangeAsync(Plaza, Day, Day.AddDays(1), Stop)).Select(stored => stored.Reading.SurfaceCelsius));
    }
}
