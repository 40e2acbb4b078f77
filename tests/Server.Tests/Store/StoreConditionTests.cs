using Microsoft.Extensions.Time.Testing;
using PavementWatch.Core.Readings;
using PavementWatch.Server.Faults;
using PavementWatch.Server.Store;

namespace PavementWatch.Server.Tests.Store;

public sealed class StoreConditionTests
{
    private readonly ServiceFaults _faults = new(new FakeTimeProvider());
    private readonly StoreCondition _condition;

    public StoreConditionTests() => _condition = new StoreCondition(_faults);

    private IEnumerable<string> Keys => _faults.Standing.Select(fault => fault.Key);

    [Fact]
    public void A_commit_that_finds_no_room_stands_until_one_finds_some()
    {
        _condition.NotCommitted(Failure(StoreFault.Full));
        _condition.Probed();
        Assert.Equal([StoreCondition.Full], Keys);
        Assert.Contains("warnings are judged", _faults.Standing[0].Words, StringComparison.Ordinal);

        _condition.Committed();
        Assert.Empty(Keys);
    }

    [Fact]
    public void Good_probes_in_a_row_end_a_full_disk_when_nothing_comes_in()
    {
        _condition.NotCommitted(Failure(StoreFault.Full));
        for (var i = 1; i < StoreCondition.ProbesUntilTrusted; i++)
            _condition.Probed();
        _condition.NotCommitted(Failure(StoreFault.Full));
        for (var i = 1; i < StoreCondition.ProbesUntilTrusted; i++)
            _condition.Probed();
        Assert.Equal([StoreCondition.Full], Keys);

        _condition.Probed();
        Assert.Empty(Keys);
    }

    [Fact]
    public void A_commit_that_finds_room_does_not_hide_a_disk_that_takes_no_probe()
    {
        _condition.NotProbed(StoreFault.Full, "the disk is full");
        _condition.Committed();
        Assert.Equal([StoreCondition.Full], Keys);

        _condition.NotProbed(StoreFault.Other, "the disk is read-only");
        Assert.Equal([StoreCondition.Write], Keys);
        _condition.Probed();
        Assert.Empty(Keys);
    }

    [Fact]
    public void Damage_stays_said_whatever_is_stored_elsewhere()
    {
        _condition.NotRead(Failure(StoreFault.Other));
        Assert.Empty(Keys);
        _condition.NotRead(Failure(StoreFault.Damaged));
        _condition.Committed();
        _condition.Probed();
        Assert.Equal([StoreCondition.Damaged], Keys);
    }

    [Fact]
    public async Task Of_batches_committed_together_only_the_one_that_meets_damage_fails()
    {
        var damaged = SpotId.Parse("north-gate-plaza");
        var open = new TaskCompletionSource();
        await using var commits = new GroupCommit(
            async readings =>
            {
                await open.Task;
                if (readings.Any(r => r.Reading.Spot == damaged))
                    throw Failure(StoreFault.Damaged);
                return [.. readings.Select(_ => true)];
            },
            queuedBatches: 10,
            readingsPerCommit: 100);
        var cancel = TestContext.Current.CancellationToken;
        // The first keeps the writer busy, so that the others are taken together.
        var first = commits.AppendAsync([One("quarry-steps")], cancel);
        var bad = commits.AppendAsync([One(damaged.Value)], cancel);
        var good = commits.AppendAsync([One("mill-footbridge")], cancel);
        open.SetResult();

        Assert.Single(await first);
        Assert.Single(await good);
        Assert.Equal(StoreFault.Damaged, (await Assert.ThrowsAsync<ReadingStoreException>(() => bad)).Fault);
    }

    private static ReadingStoreException Failure(StoreFault fault) => new("it did not work", null, fault);

    private static StoredReading One(string spot)
    {
        var at = new DateTimeOffset(2026, 7, 14, 17, 0, 0, TimeSpan.Zero);
        return new StoredReading(new Reading(SpotId.Parse(spot), at) { SurfaceCelsius = 50 }, at);
    }
}
