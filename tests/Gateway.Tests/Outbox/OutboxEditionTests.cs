using Microsoft.Data.Sqlite;
using Microsoft.Extensions.Time.Testing;
using PavementWatch.Core.Readings;
using PavementWatch.Gateway.Outbox;
using PavementWatch.Tests;

namespace PavementWatch.Gateway.Tests.Outbox;

/// <summary>Outbox files of other programs than this one: older, newer, altered under its hands.</summary>
public sealed class OutboxEditionTests : IDisposable
{
    /// <summary>As the gateway made it before editions were numbered, the table of readings put off not being there yet.</summary>
    private const string BeforeEditions =
        """
        CREATE TABLE spot(id INTEGER PRIMARY KEY, name TEXT NOT NULL UNIQUE) STRICT;
        CREATE TABLE reading(
            id INTEGER PRIMARY KEY AUTOINCREMENT, spot INTEGER NOT NULL, measured_ms INTEGER, boot TEXT NOT NULL, boot_ms INTEGER NOT NULL,
            thinned INTEGER NOT NULL DEFAULT 0, surface_celsius REAL, air_celsius REAL, humidity_percent REAL, sensor_celsius REAL,
            light_lux REAL, supply_volts REAL, quality INTEGER NOT NULL, doubt INTEGER NOT NULL) STRICT;
        CREATE UNIQUE INDEX reading_once ON reading(spot, measured_ms);
        CREATE TABLE refused(spot INTEGER NOT NULL, measured_ms INTEGER, surface_celsius REAL, reason TEXT NOT NULL) STRICT;
        CREATE TABLE last(one INTEGER PRIMARY KEY, dated_ms INTEGER NOT NULL) STRICT;
        CREATE TABLE handed_over(one INTEGER PRIMARY KEY, number INTEGER) STRICT;
        CREATE TABLE count(name TEXT PRIMARY KEY, value INTEGER NOT NULL) STRICT;
        INSERT INTO spot VALUES (1, 'quarry-steps');
        INSERT INTO reading(spot, measured_ms, boot, boot_ms, surface_celsius, quality, doubt) VALUES (1, 1783684860000, 'boot-1', 60000, 41.25, 2, 0);
        INSERT INTO count VALUES ('Thinned', 7);
        """;

    private readonly TemporaryFolder _folder = new();
    private readonly FakeTimeProvider _time = new(Some.Noon);

    private string Outbox => _folder["outbox.db"];

    public void Dispose() => _folder.Dispose();

    [Fact]
    public void File_of_before_editions_becomes_the_edition_in_use_with_all_it_holds()
    {
        Run(BeforeEditions);

        using (var outbox = Some.Open(Outbox, _time))
        {
            outbox.Append([Some.Reading(2)]);
            outbox.PutOff([outbox.Peek(1)[0].Number], "another clock");
            var state = outbox.State();
            Assert.Equal((2, 1, 7L), (state.Waiting, state.PutOff, state.Counts[OutboxCount.Thinned]));
            Assert.Null(state.Fault);
        }

        Assert.Equal(3L, Ask("PRAGMA user_version"));
        Assert.Equal(41.25, Ask("SELECT surface_celsius FROM reading WHERE boot_ms = 60000"));
        Assert.Empty(SetAside("*"));
    }

    [Fact]
    public void File_of_the_first_edition_which_knew_no_spread_goes_on_with_its_readings_and_takes_one_from_now_on()
    {
        Run(BeforeEditions + "CREATE TABLE put_off(id INTEGER PRIMARY KEY) STRICT; PRAGMA user_version = 1;");

        using (var outbox = Some.Open(Outbox, _time))
        {
            outbox.Append([Some.Reading(2)]);
            Assert.Equal([(41.25, null), (41.25, 0.213)], outbox.Peek(5).Select(entry => (entry.Reading.SurfaceCelsius!.Value, entry.Reading.SpreadKelvin)));
        }

        Assert.Equal(3L, Ask("PRAGMA user_version"));
        Assert.Empty(SetAside("*"));
    }

    [Fact]
    public void File_of_a_newer_program_is_set_aside_and_its_readings_dated_or_not_are_rescued()
    {
        Fill();
        // A column more, one under another name, and a table that is not ours.
        Run("ALTER TABLE reading ADD COLUMN snow_millimeters REAL; ALTER TABLE reading RENAME COLUMN light_lux TO illuminance_lux; CREATE TABLE lamp(lit INTEGER); PRAGMA user_version = 7;");

        using var outbox = Some.Open(Outbox, _time);
        outbox.Append([Some.Reading(5)]);

        Assert.Equal([1, 2, 3, 5], outbox.Minutes());
        var first = outbox.Peek(1)[0].Reading;
        Assert.Equal((41.25, 29.5, 0.213, ReadingQuality.Good, (double?)null), (first.SurfaceCelsius, first.AirCelsius, first.SpreadKelvin, first.Quality, first.LightLux));
        var state = outbox.State();
        Assert.Equal((1, 4L, 1L, 0L), (state.Held, state.Counts[OutboxCount.Rescued], state.Counts[OutboxCount.OtherEdition], state.Counts[OutboxCount.DamagedFile]));
        Assert.Equal(0, state.InMemory);
        Assert.Single(SetAside("edition-*"));
        // The one that was held is dated as it would have been.
        Assert.Equal(1, outbox.Date(Some.Boot, Some.Noon));
        Assert.Equal([1, 2, 3, 4, 5], outbox.Minutes().Order());
    }

    [Theory]
    [InlineData("ALTER TABLE reading DROP COLUMN light_lux", "a column is gone")]
    [InlineData("DROP TABLE put_off", "a table is gone")]
    [InlineData("ALTER TABLE last RENAME COLUMN dated_ms TO at", "a column has another name")]
    public void File_that_has_other_tables_than_its_edition_says_is_set_aside_at_the_start(string change, string name)
    {
        Assert.NotEmpty(name);
        Fill();
        Run(change);

        using var outbox = Some.Open(Outbox, _time);

        Assert.Equal([1, 2, 3], outbox.Minutes());
        Assert.Equal(1, outbox.State().Counts[OutboxCount.OtherEdition]);
        Assert.Equal((0, null), (outbox.State().InMemory, outbox.State().Fault));
    }

    [Fact]
    public void Column_that_goes_while_the_gateway_runs_leaves_no_reading_waiting_in_memory()
    {
        Fill();
        using var outbox = Some.Open(Outbox, _time);
        Run("ALTER TABLE reading RENAME COLUMN air_celsius TO shade_celsius");

        Assert.Equal(new AppendOutcome(1, 0, 0), outbox.Append([Some.Reading(5)]));

        Assert.Equal([1, 2, 3, 5], outbox.Minutes());
        Assert.Equal((0, 1L), (outbox.State().InMemory, outbox.State().Counts[OutboxCount.OtherEdition]));
        Assert.Null(outbox.State().Fault);
    }

    [Fact]
    public void Readings_of_a_damaged_file_that_have_no_date_are_rescued_and_given_up_only_counted()
    {
        using (var before = Some.Open(Outbox, _time))
            before.Append([Some.Reading(1), Some.Held(2), Some.Held(3, boot: "boot-0")]);
        Damage();

        using var outbox = Some.Open(Outbox, _time);

        Assert.Equal((2, 3L), (outbox.State().Held, outbox.State().Counts[OutboxCount.Rescued]));
        outbox.GiveUpUndatable(Some.Boot);
        Assert.Equal((1, 1L), (outbox.State().Held, outbox.State().Counts[OutboxCount.Undatable]));
    }

    [Fact]
    public void Damage_in_the_middle_costs_what_lies_on_it_and_not_what_comes_after()
    {
        using (var before = Some.Open(Outbox, _time))
            before.Append([.. Enumerable.Range(1, 3000).Select(minute => Some.Reading(minute))]);
        var bytes = File.ReadAllBytes(Outbox);
        var pages = FilledPages(bytes);
        bytes.AsSpan(pages[pages.Count / 2] * 4096, 4096).Fill(0xA5);
        File.WriteAllBytes(Outbox, bytes);

        using var outbox = Some.Open(Outbox, _time);

        var minutes = outbox.Minutes();
        Assert.InRange(minutes.Count, 2800, 2999);
        Assert.Equal((1, 3000), (minutes[0], minutes[^1]));
        Assert.Equal(minutes.Order(), minutes);
    }

    [Fact]
    public void Rescue_that_was_cut_short_is_made_good_at_the_next_start()
    {
        Fill();
        // As a kill leaves it between the renaming and the last reading.
        File.Move(Outbox, Outbox + ".rescue-damaged-20260710T115900000");

        using var outbox = Some.Open(Outbox, _time);

        Assert.Equal([1, 2, 3], outbox.Minutes());
        Assert.Equal((1L, 4L), (outbox.State().Counts[OutboxCount.DamagedFile], outbox.State().Counts[OutboxCount.Rescued]));
        Assert.Empty(SetAside("rescue-*"));
        Assert.Single(SetAside("damaged-*"));
    }

    [Fact]
    public void Rescue_that_finds_no_room_is_made_good_when_there_is()
    {
        using var disk = SmallDisk.Require(_folder["disk"], kilobytes: 3000);
        var path = Path.Combine(disk.Folder, "outbox.db");
        using (var before = Some.Open(path, _time))
            before.Append([.. Enumerable.Range(1, 3000).Select(minute => Some.Reading(minute))]);
        Run("PRAGMA user_version = 7", path);
        disk.Fill();

        using var outbox = Some.Open(path, _time);
        outbox.Append([Some.Reading(5000)]);
        Assert.Contains("disk is full", outbox.State().Fault, StringComparison.Ordinal);

        disk.Free();
        _time.Advance(TimeSpan.FromMinutes(2));
        outbox.Append([Some.Reading(5001)]);

        Assert.Equal([.. Enumerable.Range(1, 3000), 5000, 5001], outbox.Minutes().Order());
        Assert.Equal((0, null), (outbox.State().InMemory, outbox.State().Fault));
    }

    [Fact]
    public void Only_the_last_few_files_set_aside_are_kept()
    {
        foreach (var day in Enumerable.Range(1, 6))
        {
            File.WriteAllText($"{Outbox}.damaged-202606{day:00}T120000000", "old");
            File.WriteAllText($"{Outbox}.damaged-202606{day:00}T120000000-wal", "old");
        }

        Fill();
        Damage();
        using (Some.Open(Outbox, _time))
        {
        }

        Assert.Equal(
            ["outbox.db.damaged-20260605T120000000", "outbox.db.damaged-20260606T120000000", "outbox.db.damaged-20260710T120000000"],
            SetAside("damaged-*").Where(name => !name.EndsWith("-wal", StringComparison.Ordinal) && !name.EndsWith("-shm", StringComparison.Ordinal)).Order());
    }

    [Fact]
    public void Reading_the_server_refuses_does_not_come_back_because_the_disk_is_full()
    {
        using var disk = SmallDisk.Require(_folder["disk"], kilobytes: 2000);
        using var outbox = Some.Open(Path.Combine(disk.Folder, "outbox.db"), _time);
        outbox.Append([Some.Reading(1), Some.Reading(2)]);
        disk.Fill();
        for (var minute = 3; outbox.State().InMemory == 0; minute++)
            outbox.Append([Some.Reading(minute)]);

        outbox.SetAside([outbox.Peek(1)[0].Number], "no such spot");
        Assert.Equal(2, outbox.Minutes()[0]);

        disk.Free();
        outbox.Remove([outbox.Peek(1)[0].Number]);
        Assert.Equal(3, outbox.Minutes()[0]);
        Assert.Equal(1, outbox.State().Counts[OutboxCount.Refused]);
    }

    private void Fill()
    {
        using var outbox = Some.Open(Outbox, _time);
        outbox.Append([Some.Reading(1), Some.Reading(2), Some.Reading(3), Some.Held(4)]);
    }

    /// <summary>Damages an index, which the check at the start finds; every reading can still be read.</summary>
    private void Damage()
    {
        var page = checked((int)(long)Ask("SELECT rootpage FROM sqlite_master WHERE name = 'reading_once'")!) - 1;
        var bytes = File.ReadAllBytes(Outbox);
        bytes.AsSpan(page * 4096, 4096).Fill(0xA5);
        File.WriteAllBytes(Outbox, bytes);
    }

    /// <summary>The pages, from 0, of tables' rows that are well filled (file format of SQLite: a leaf of a table begins with 13, the number of its rows stands at 3).</summary>
    private static List<int> FilledPages(byte[] bytes) =>
        [.. Enumerable.Range(1, (bytes.Length / 4096) - 1).Where(page => bytes[page * 4096] == 13 && (bytes[(page * 4096) + 3] * 256) + bytes[(page * 4096) + 4] > 20)];

    private List<string> SetAside(string pattern) =>
        [.. Directory.GetFiles(_folder["."], $"outbox.db.{pattern}").Select(Path.GetFileName).OfType<string>().Where(name => name != "outbox.db")];

    private void Run(string sql, string? path = null)
    {
        using var connection = Connect(path ?? Outbox);
        using var command = connection.CreateCommand();
        command.CommandText = sql;
        command.ExecuteNonQuery();
    }

    private object? Ask(string sql)
    {
        using var connection = Connect(Outbox);
        using var command = connection.CreateCommand();
        command.CommandText = sql;
        return command.ExecuteScalar();
    }

    private static SqliteConnection Connect(string path)
    {
        var connection = new SqliteConnection($"Data Source={path};Pooling=False");
        connection.Open();
        return connection;
    }
}
