using Microsoft.Data.Sqlite;
using PavementWatch.Server.Store;
using static PavementWatch.Server.Tests.Store.SomeReadings;

namespace PavementWatch.Server.Tests.Store;

public sealed class SqliteReadingStoreTests : ReadingStoreContract
{
    private readonly string _folder = Directory.CreateTempSubdirectory("readings-").FullName;

    private string FilePath => Path.Combine(_folder, "deep", "readings.db");

    private protected override ValueTask<IReadingStore> OpenAsync() =>
        ValueTask.FromResult<IReadingStore>(new SqliteReadingStore(new StoreOptions { Path = FilePath }));

    public override async ValueTask DisposeAsync()
    {
        await base.DisposeAsync();
        SqliteConnection.ClearAllPools();
        Directory.Delete(_folder, recursive: true);
    }

    [Fact]
    public async Task Readings_are_there_after_the_file_is_opened_again()
    {
        await Store.AppendAsync([Good(Plaza, At("12:00"), 50)], Stop);
        await ((SqliteReadingStore)Store).DisposeAsync();

        await using var again = new SqliteReadingStore(new StoreOptions { Path = FilePath });

        Assert.Equal([Good(Plaza, At("12:00"), 50)], await again.LatestAsync(Stop));
        Assert.Empty(await again.AppendAsync([Good(Plaza, At("12:00"), 51)], Stop));
    }

    [Fact]
    public async Task Readers_are_not_held_up_by_another_process_writing()
    {
        await Store.AppendAsync([Good(Plaza, At("12:00"), 50)], Stop);
        using var other = new SqliteConnection($"Data Source={FilePath};Pooling=False");
        other.Open();
        using var writing = other.BeginTransaction(deferred: false);

        Assert.Single(await Store.RangeAsync(Plaza, At("12:00"), At("13:00"), Stop));

        var waiting = Store.AppendAsync([Good(Plaza, At("12:01"), 51)], Stop);
        Assert.Single(await Store.LatestAsync(Stop));
        writing.Commit();
        Assert.Single(await waiting);
    }

    [Fact]
    public async Task Every_commit_is_flushed_and_the_file_is_in_wal_mode()
    {
        await Store.AppendAsync([Good(Plaza, At("12:00"), 50)], Stop);
        using var connection = SqliteFile.OpenForWriting(FilePath);

        Assert.Equal("wal", Ask(connection, "PRAGMA journal_mode;"));
        // 2 is FULL: https://sqlite.org/pragma.html#pragma_synchronous
        Assert.Equal(2L, Ask(connection, "PRAGMA synchronous;"));
    }

    [Fact]
    public async Task A_failed_write_fails_its_batch_with_the_remedy_and_a_later_one_succeeds()
    {
        await using var tight = new SqliteReadingStore(new StoreOptions { Path = Path.Combine(_folder, "tight.db") });
        await tight.AppendAsync([Good(Plaza, At("12:00"), 50)], Stop);
        using (var other = new SqliteConnection($"Data Source={Path.Combine(_folder, "tight.db")};Pooling=False"))
        {
            other.Open();
            Ask(other, "ALTER TABLE reading RENAME TO away;");
            var failure = await Assert.ThrowsAsync<ReadingStoreException>(
                () => tight.AppendAsync([Good(Plaza, At("12:01"), 51)], Stop));
            Assert.Contains("tight.db cannot be written", failure.Message, StringComparison.Ordinal);
            Assert.Contains("free space", failure.Message, StringComparison.Ordinal);
            Ask(other, "ALTER TABLE away RENAME TO reading;");
        }

        Assert.Single(await tight.AppendAsync([Good(Plaza, At("12:01"), 51)], Stop));
    }

    [Fact]
    public async Task A_file_of_a_newer_server_is_refused_with_the_remedy()
    {
        await Store.AppendAsync([Good(Plaza, At("12:00"), 50)], Stop);
        using (var connection = SqliteFile.OpenForWriting(FilePath))
            Ask(connection, "PRAGMA user_version = 99;");

        var refusal = Assert.Throws<ReadingStoreException>(() => new SqliteReadingStore(new StoreOptions { Path = FilePath }));

        Assert.Contains("table version 99", refusal.Message, StringComparison.Ordinal);
        Assert.Contains("run the newer server", refusal.Message, StringComparison.Ordinal);
    }

    [Theory]
    [InlineData(1, "")]
    [InlineData(2, "CREATE TABLE ten_minutes (spot TEXT NOT NULL, ending INTEGER NOT NULL, good INTEGER NOT NULL, readings INTEGER NOT NULL, surface_celsius REAL, surface_max_celsius REAL, air_celsius REAL, humidity_percent REAL, PRIMARY KEY (spot, ending)) WITHOUT ROWID;")]
    [InlineData(3, "CREATE TABLE ten_minutes (spot TEXT NOT NULL, ending INTEGER NOT NULL, good INTEGER NOT NULL, readings INTEGER NOT NULL, surface_celsius REAL, surface_max_celsius REAL, air_celsius REAL, humidity_percent REAL, heated_celsius REAL, doubts TEXT, PRIMARY KEY (spot, ending)) WITHOUT ROWID;")]
    public async Task A_file_from_before_steps_were_kept_as_they_are_gets_them(int version, string kept)
    {
        await Store.AppendAsync([.. WholeDay(Plaza), .. WholeDay(SomeReadings.Steps)], Stop);
        var before = await Store.StepsAsync(Plaza, Day.AddTicks(1), Day.AddDays(1), SqliteFile.KeptStep, Stop);
        await ((SqliteReadingStore)Store).DisposeAsync();
        using (var old = new SqliteConnection($"Data Source={FilePath};Pooling=False"))
        {
            old.Open();
            Ask(old, $"DROP TABLE ten_minutes; {kept} PRAGMA user_version = {version};");
        }

        await using var again = new SqliteReadingStore(new StoreOptions { Path = FilePath });

        Assert.Equal(144, before.Count);
        Assert.Equal(before, await again.StepsAsync(Plaza, Day.AddTicks(1), Day.AddDays(1), SqliteFile.KeptStep, Stop));
    }

    [Fact]
    public async Task A_batch_sent_while_closing_is_refused_not_lost_silently()
    {
        var store = new SqliteReadingStore(new StoreOptions { Path = Path.Combine(_folder, "closing.db") });
        var last = store.AppendAsync([Good(Plaza, At("12:00"), 50)], Stop);
        await store.DisposeAsync();

        Assert.Single(await last);
        await Assert.ThrowsAsync<ReadingStoreException>(() => store.AppendAsync([Good(Plaza, At("12:01"), 51)], Stop));
    }

    private static object? Ask(SqliteConnection connection, string sql)
    {
        using var command = connection.CreateCommand();
#pragma warning disable CA2100 // Constants of this file.
        command.CommandText = sql;
#pragma warning restore CA2100
        return command.ExecuteScalar();
    }
}
