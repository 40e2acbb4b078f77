using Microsoft.Extensions.Time.Testing;
using PavementWatch.Gateway.Outbox;
using PavementWatch.Tests;

namespace PavementWatch.Gateway.Tests.Outbox;

public sealed class OutboxBadDiskTests : IDisposable
{
    private readonly TemporaryFolder _folder = new();

    public void Dispose() => _folder.Dispose();

    [Fact]
    public void File_that_is_no_database_is_set_aside_counted_and_the_outbox_goes_on()
    {
        File.WriteAllText(_folder["outbox.db"], new string('x', 5000));

        using var outbox = Some.Open(_folder["outbox.db"]);
        outbox.Append([Some.Reading(1)]);

        Assert.Equal([1], outbox.Minutes());
        Assert.Equal(1, outbox.State().Counts[OutboxCount.DamagedFile]);
        Assert.Single(Directory.GetFiles(_folder["."], "outbox.db.damaged-*"));
    }

    [Theory]
    [InlineData(11, "one seed")]
    [InlineData(12, "another")]
    [InlineData(13, "a third")]
    public void File_with_overwritten_pages_is_set_aside_and_what_can_be_read_is_rescued(int seed, string name)
    {
        Assert.NotEmpty(name);
        var path = _folder["outbox.db"];
        using (var outbox = Some.Open(path))
            outbox.Append([.. Enumerable.Range(0, 2000).Select(minute => Some.Reading(minute))]);
        var bytes = File.ReadAllBytes(path);
        // Noise over the last third of the file; the first pages with the schema stay whole.
        new Random(seed).NextBytes(bytes.AsSpan(bytes.Length * 2 / 3));
        File.WriteAllBytes(path, bytes);

        using var again = Some.Open(path);
        again.Append([Some.Reading(5000)]);

        var state = again.State();
        Assert.Equal(1, state.Counts[OutboxCount.DamagedFile]);
        Assert.InRange(state.Counts[OutboxCount.Rescued], 100, 1999);
        var minutes = again.Minutes();
        Assert.Equal(minutes.Order(), minutes);
        Assert.Equal(5000, minutes[^1]);
    }

    [Fact]
    public void Read_only_file_is_said_so_and_readings_wait_in_memory_until_it_can_be_written()
    {
        // A folder stands where the file should be: unlike permissions, that stops the superuser too.
        var path = _folder["outbox.db"];
        Directory.CreateDirectory(path);
        var time = new FakeTimeProvider(Some.Noon);
        using var outbox = Some.Open(path, time);

        Assert.Equal(new AppendOutcome(0, 0, 2), outbox.Append([Some.Reading(1), Some.Reading(2)]));
        Assert.Equal(new AppendOutcome(0, 1, 1), outbox.Append([Some.Reading(2), Some.Reading(3)]));
        Assert.Equal([1, 2, 3], outbox.Minutes());
        Assert.Contains("cannot be opened", outbox.State().Fault, StringComparison.Ordinal);

        Directory.Delete(path);
        time.Advance(TimeSpan.FromMinutes(2));
        Assert.Equal(new AppendOutcome(1, 0, 0), outbox.Append([Some.Reading(4)]));

        Assert.Equal([1, 2, 3, 4], outbox.Minutes());
        Assert.Null(outbox.State().Fault);
        Assert.Equal(0, outbox.State().InMemory);
        Assert.Equal(1, outbox.State().Counts[OutboxCount.Duplicate]);
    }

    [Fact]
    public void Memory_is_bounded_by_the_same_thinning()
    {
        Directory.CreateDirectory(_folder["outbox.db"]);
        using var outbox = Some.Open(_folder["outbox.db"], new FakeTimeProvider(Some.Noon), new OutboxOptions { MemoryReadings = 100 });

        for (var minute = 1; minute <= 300; minute++)
            outbox.Append([Some.Reading(minute)]);

        var state = outbox.State();
        Assert.InRange(state.InMemory, 50, 100);
        Assert.Equal(300, state.InMemory + state.Counts[OutboxCount.Thinned] + state.Counts[OutboxCount.GivenUp]);
        Assert.Equal(0, state.Counts[OutboxCount.GivenUp]);
        Assert.Equal(300, outbox.Minutes()[^1]);
    }

    [Fact]
    public void Full_disk_is_said_so_nothing_is_lost_and_what_was_sent_is_not_offered_again()
    {
        using var disk = SmallDisk.Require(_folder["disk"], kilobytes: 600);
        using var outbox = Some.Open(Path.Combine(disk.Folder, "outbox.db"));
        var minute = 0;
        AppendOutcome outcome;
        do
        {
            outcome = outbox.Append([.. Enumerable.Range(0, 50).Select(_ => Some.Reading(++minute))]);
        }
        while (outcome.InMemory == 0 && minute < 20_000);

        Assert.True(outcome.InMemory > 0, "the disk never filled");
        Assert.Contains("disk is full", outbox.State().Fault, StringComparison.Ordinal);
        Assert.Equal(Enumerable.Range(1, minute), outbox.Minutes());

        var sent = outbox.Peek(20).Select(entry => entry.Number).ToList();
        outbox.Remove(sent);
        Assert.Equal(Enumerable.Range(21, minute - 20), outbox.Minutes());
    }

    [Fact]
    public void Fault_is_over_with_the_first_reading_that_the_disk_takes_also_when_memory_was_emptied_by_sending()
    {
        using var disk = SmallDisk.Require(_folder["disk"], kilobytes: 2000);
        using var outbox = Some.Open(Path.Combine(disk.Folder, "outbox.db"));
        disk.Fill();
        for (var minute = 1; outbox.State().InMemory == 0; minute++)
            outbox.Append([Some.Reading(minute)]);
        outbox.Remove([.. outbox.Peek(10_000).Select(entry => entry.Number)]);
        Assert.Equal(0, outbox.State().InMemory);
        Assert.NotNull(outbox.State().Fault);

        disk.Free();
        Assert.Equal(new AppendOutcome(1, 0, 0), outbox.Append([Some.Reading(5000)]));

        Assert.Null(outbox.State().Fault);
    }

    [Fact]
    public void What_went_to_the_broker_from_memory_keeps_its_date_on_the_disk_too()
    {
        using var disk = SmallDisk.Require(_folder["disk"], kilobytes: 2000);
        using var outbox = Some.Open(Path.Combine(disk.Folder, "outbox.db"));
        disk.Fill();
        var minute = 0;
        while (outbox.State().InMemory == 0)
            outbox.Append([Some.Reading(++minute)]);
        var sent = outbox.Peek(10_000);
        outbox.HandOver([.. sent.Select(entry => entry.Number)]);
        outbox.Append([Some.Reading(minute + 1)]);

        outbox.Date(Some.Boot, Some.Noon.AddDays(1), again: true);
        disk.Free();
        outbox.Append([Some.Reading(minute + 2)]);
        outbox.Date(Some.Boot, Some.Noon.AddDays(2), again: true);

        Assert.Equal([.. Enumerable.Range(1, minute), minute + 1 + 1440], outbox.Minutes().SkipLast(1));
    }

    [Fact]
    public void Card_that_turns_read_only_is_said_so_and_sampling_goes_on()
    {
        using var disk = SmallDisk.Require(_folder["card"], kilobytes: 5000);
        var path = Path.Combine(disk.Folder, "outbox.db");
        using (var before = Some.Open(path))
            before.Append([Some.Reading(1)]);
        disk.Remount("ro");

        using var outbox = Some.Open(path);
        Assert.Equal(new AppendOutcome(0, 0, 1), outbox.Append([Some.Reading(2)]));

        Assert.Matches("read-only|cannot be opened", outbox.State().Fault);
        Assert.Equal(2, outbox.Minutes()[^1]);
    }
}
