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
