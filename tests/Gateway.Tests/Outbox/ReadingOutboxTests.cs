using PavementWatch.Core.Readings;
using PavementWatch.Gateway.Outbox;

namespace PavementWatch.Gateway.Tests.Outbox;

public sealed class ReadingOutboxTests : IDisposable
{
    private readonly TemporaryFolder _folder = new();

    public void Dispose() => _folder.Dispose();

    [Fact]
    public void Readings_come_out_in_the_order_they_went_in_and_equal()
    {
        using var outbox = Some.Open(_folder["outbox.db"]);
        TakenReading[] taken =
        [
            Some.Reading(1), Some.Reading(1, "orchard-green"),
            Some.Reading(2) with { Reading = Some.Reading(2).Reading with { SurfaceCelsius = null, LightLux = 81_000, Quality = ReadingQuality.Suspect, Doubt = Doubt.Wet | Doubt.Spike } },
        ];

        Assert.Equal(new AppendOutcome(3, 0, 0), outbox.Append(taken));

        Assert.Equal(taken.Select(one => one.Reading), outbox.Peek(10).Select(entry => entry.Reading));
    }

    [Fact]
    public void Same_spot_and_time_is_kept_once_and_counted()
    {
        using var outbox = Some.Open(_folder["outbox.db"]);
        outbox.Append([Some.Reading(1)]);

        var outcome = outbox.Append([Some.Reading(1, surfaceCelsius: 60), Some.Reading(1, "orchard-green")]);

        Assert.Equal(new AppendOutcome(1, 1, 0), outcome);
        Assert.Equal(41.25, outbox.Peek(1)[0].Reading.SurfaceCelsius);
        Assert.Equal(1, outbox.State().Counts[OutboxCount.Duplicate]);
    }

    [Theory]
    [InlineData(false)]
    [InlineData(true)]
    public void What_a_clock_set_back_dates_with_a_moment_it_gave_before_is_another_reading(bool wasSent)
    {
        using var outbox = Some.Open(_folder["outbox.db"]);
        outbox.Append([Some.Reading(1), Some.Reading(2)]);
        if (wasSent)
            outbox.Remove([.. outbox.Peek(2).Select(entry => entry.Number)]);
        var later = Some.Reading(1, surfaceCelsius: 60) with { Boot = "boot-2" };

        Assert.Equal(new AppendOutcome(1, 0, 0), outbox.Append([later]));
        Assert.Equal(new AppendOutcome(0, 1, 0), outbox.Append([later]));

        var entry = outbox.Peek(10)[^1];
        Assert.Equal((60, Some.Noon.AddMinutes(1).AddMilliseconds(1)), (entry.Reading.SurfaceCelsius!.Value, entry.Reading.MeasuredAt));
        Assert.Equal(1, outbox.State().Counts[OutboxCount.Duplicate]);
    }

    [Fact]
    public void The_same_start_meets_its_own_moments_again_when_its_clock_is_set_back()
    {
        using var outbox = Some.Open(_folder["outbox.db"]);
        outbox.Append([Some.Reading(5)]);
        outbox.HandOver([outbox.Peek(1)[0].Number]);

        outbox.Append([Some.Reading(5, surfaceCelsius: 60) with { SinceBoot = TimeSpan.FromMinutes(9) }]);

        Assert.Equal([41.25, 60], outbox.Peek(10).Select(entry => entry.Reading.SurfaceCelsius!.Value));
        Assert.Equal(0, outbox.State().Counts[OutboxCount.Duplicate]);
    }

    [Theory]
    [InlineData(false)]
    [InlineData(true)]
    public void What_is_dated_late_never_takes_the_place_of_another_start(bool wasSent)
    {
        using var outbox = Some.Open(_folder["outbox.db"]);
        outbox.Append([Some.Reading(61), Some.Held(1, boot: "boot-2"), Some.Held(2, boot: "boot-2")]);
        if (wasSent)
            outbox.Remove([outbox.Peek(1)[0].Number]);

        Assert.Equal(2, outbox.Date("boot-2", Some.Noon.AddHours(1)));

        Assert.Equal(
            [Some.Noon.AddMinutes(61).AddMilliseconds(1), Some.Noon.AddMinutes(62)],
            outbox.Peek(10).Select(entry => entry.Reading.MeasuredAt).TakeLast(2));
        Assert.Equal(0, outbox.State().Counts[OutboxCount.Duplicate]);
    }

    [Fact]
    public void While_the_disk_takes_nothing_the_same_holds_in_memory()
    {
        var memory = new MemoryOutbox(100);
        Assert.Equal(2, memory.Add([Some.Reading(1), Some.Held(3)]));
        var later = Some.Reading(1, surfaceCelsius: 60) with { Boot = "boot-2" };

        Assert.Equal((1, 0), (memory.Add([later]), memory.Add([later])));
        // Two minutes earlier than by the clock before: where the first one is.
        Assert.Equal(1, memory.Date(Some.Boot, Some.Noon.AddMinutes(-2), again: false));

        Assert.Equal([0, 2, 1], memory.Dated().Select(entry => (int)(entry.Reading.MeasuredAt - Some.Noon.AddMinutes(1)).TotalMilliseconds));
    }

    [Fact]
    public void Moments_that_were_sent_are_remembered_for_a_day()
    {
        using (var outbox = Some.Open(_folder["outbox.db"]))
        {
            outbox.Append([Some.Reading(0), Some.Reading(60)]);
            outbox.Remove([.. outbox.Peek(2).Select(entry => entry.Number)]);
            outbox.Append([Some.Reading((24 * 60) + 30)]);
            outbox.Remove([outbox.Peek(1)[0].Number]);
        }

        using var file = OutboxFile.Open(_folder["outbox.db"]);
        Assert.Equal(0, file.Append([Some.Reading(60)]));
        Assert.Equal(1, file.Append([Some.Reading(0)]));
    }

    [Fact]
    public void What_was_not_removed_is_there_after_a_restart_and_what_was_removed_is_not()
    {
        using (var outbox = Some.Open(_folder["outbox.db"]))
        {
            outbox.Append([.. Enumerable.Range(0, 10).Select(minute => Some.Reading(minute))]);
            outbox.Remove([.. outbox.Peek(4).Select(entry => entry.Number)]);
        }

        using var again = Some.Open(_folder["outbox.db"]);
        Assert.Equal([4, 5, 6, 7, 8, 9], again.Minutes());
    }

    [Fact]
    public async Task Waiting_ends_when_something_arrives()
    {
        using var outbox = Some.Open(_folder["outbox.db"]);
        await outbox.WaitAsync(TestContext.Current.CancellationToken); // what an earlier run may have left
        var waiting = outbox.WaitAsync(TestContext.Current.CancellationToken);
        Assert.False(waiting.IsCompleted);

        outbox.Append([Some.Reading(1)]);

        await waiting;
    }

    [Fact]
    public void Held_readings_stay_back_until_their_boot_is_dated()
    {
        using var outbox = Some.Open(_folder["outbox.db"]);
        outbox.Append([Some.Held(1), Some.Held(2)]);
        Assert.Empty(outbox.Peek(10));
        Assert.Equal(2, outbox.State().Held);

        Assert.Equal(2, outbox.Date(Some.Boot, Some.Noon.AddHours(3)));

        Assert.Equal([181, 182], outbox.Minutes());
        Assert.Equal(0, outbox.State().Held);
    }

    [Fact]
    public void Held_readings_of_an_earlier_boot_are_given_up_and_counted()
    {
        using var outbox = Some.Open(_folder["outbox.db"]);
        outbox.Append([Some.Held(1, boot: "boot-0"), Some.Held(2)]);

        outbox.GiveUpUndatable(Some.Boot);

        Assert.Equal(1, outbox.State().Held);
        Assert.Equal(1, outbox.State().Counts[OutboxCount.Undatable]);
    }

    [Fact]
    public void Redating_shifts_what_waits_without_loss()
    {
        using var outbox = Some.Open(_folder["outbox.db"]);
        outbox.Append([.. Enumerable.Range(0, 5).Select(minute => Some.Reading(minute))]);

        // A minute forward: each reading takes the time its neighbour had.
        outbox.Date(Some.Boot, Some.Noon.AddMinutes(1), again: true);

        Assert.Equal([1, 2, 3, 4, 5], outbox.Minutes());
        Assert.Equal(0, outbox.State().Counts[OutboxCount.Duplicate]);
    }

    [Theory]
    [InlineData(false, "in the same run")]
    [InlineData(true, "after a restart of the program")]
    public void What_may_have_reached_the_broker_is_not_dated_anew(bool restart, string when)
    {
        Assert.NotEmpty(when);
        var outbox = Some.Open(_folder["outbox.db"]);
        outbox.Append([Some.Reading(1), Some.Reading(2)]);
        // Sent, and the acknowledgement was lost.
        outbox.HandOver([.. outbox.Peek(2).Select(entry => entry.Number)]);
        if (restart)
        {
            outbox.Dispose();
            outbox = Some.Open(_folder["outbox.db"]);
        }
        outbox.Append([Some.Reading(3), Some.Reading(4)]);

        Assert.Equal(2, outbox.Date(Some.Boot, Some.Noon.AddMinutes(30), again: true));

        Assert.Equal([1, 2, 33, 34], outbox.Minutes());
        outbox.Dispose();
    }

    [Fact]
    public void What_a_run_that_never_reached_the_broker_left_behind_is_dated_anew_by_the_next()
    {
        using (var before = Some.Open(_folder["outbox.db"]))
            before.Append([Some.Reading(1), Some.Reading(2)]);
        using var outbox = Some.Open(_folder["outbox.db"]);

        outbox.Date(Some.Boot, Some.Noon.AddMinutes(30), again: true);

        Assert.Equal([31, 32], outbox.Minutes());
    }

    [Fact]
    public void Refused_readings_make_way_and_are_counted()
    {
        using var outbox = Some.Open(_folder["outbox.db"]);
        outbox.Append([Some.Reading(1), Some.Reading(2)]);

        outbox.SetAside([outbox.Peek(1)[0].Number], "spot not known");

        Assert.Equal([2], outbox.Minutes());
        Assert.Equal(1, outbox.State().Counts[OutboxCount.Refused]);
    }
}
