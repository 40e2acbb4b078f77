using Microsoft.Data.Sqlite;
using PavementWatch.Core.Readings;

namespace PavementWatch.Gateway.Outbox;

/// <summary>The outbox's SQLite file: every method is one transaction, durable when it returns. One caller at a time.</summary>
/// <remarks>
/// Write-ahead log with <c>synchronous=FULL</c>: SQLite syncs the log at every commit, so a lost power supply or a
/// kill leaves the file as it was after the last commit (sqlite.org, "Write-Ahead Logging" and "PRAGMA synchronous").
/// </remarks>
internal sealed partial class OutboxFile : IDisposable
{
    private const string Columns =
        "surface_celsius, air_celsius, humidity_percent, sensor_celsius, light_lux, supply_volts, spread_kelvin, quality, doubt";

    private const long RememberedMilliseconds = 24 * 60 * 60 * 1000;

    private static readonly Dictionary<OutboxCount, long> NoCounts = [];

    private readonly SqliteConnection _connection;

    private OutboxFile(SqliteConnection connection) => _connection = connection;

    /// <summary>Opens or makes the file, checks it whole and brings it to the edition in use.</summary>
    /// <exception cref="SqliteException">The file is damaged or of an unknown edition, or the disk gives or takes nothing.</exception>
    public static OutboxFile Open(string path)
    {
        var file = OpenUnchecked(path);
        try
        {
            file.Run("PRAGMA journal_mode=WAL");
            file.Run("PRAGMA synchronous=FULL");
            if (file.Text("PRAGMA quick_check(1)") is var verdict and not "ok")
                throw new SqliteException($"quick_check: {verdict}", SqliteCodes.Corrupt);
            file.Migrate();
            return file;
        }
        catch
        {
            file.Dispose();
            throw;
        }
    }

    private static OutboxFile OpenUnchecked(string path)
    {
        // The gateway owns its file; a pool would keep it open after Dispose, when it may have to be set aside.
        var connection = new SqliteConnection(new SqliteConnectionStringBuilder { DataSource = path, Pooling = false }.ToString());
        try
        {
            connection.Open();
            return new OutboxFile(connection);
        }
        catch
        {
            connection.Dispose();
            throw;
        }
    }

    /// <summary>Stores what is new.</summary>
    /// <returns>How many were new.</returns>
    public int Append(IReadOnlyList<TakenReading> taken) => Append(taken, NoCounts);

    /// <summary>Stores what is new, and adds to counts, in one transaction.</summary>
    /// <returns>How many were new.</returns>
    public int Append(IReadOnlyList<TakenReading> taken, IReadOnlyDictionary<OutboxCount, long> counts)
    {
        using var transaction = _connection.BeginTransaction();
        using var insert = Command(
            $"""
            INSERT INTO reading(spot, measured_ms, boot, boot_ms, {Columns})
            VALUES ($spot, $measured, $boot, $bootMs, $surface, $air, $humidity, $sensor, $light, $supply, $spread, $quality, $doubt)
            """);
        using var free = FreeMoment();
        var spots = taken.Select(one => one.Reading.Spot).Distinct().ToDictionary(spot => spot, SpotKey_InTransaction);
        var stored = 0;
        foreach (var (reading, boot, sinceBoot, dated) in taken)
        {
            var (spot, bootMs) = (spots[reading.Spot], (long)sinceBoot.TotalMilliseconds);
            var measured = dated ? Free_InTransaction(free, spot, reading.MeasuredAt.ToUnixTimeMilliseconds(), boot, bootMs) : null;
            if (dated && measured is null)
                continue;
            insert.Parameters.Clear();
            insert.Parameters.AddWithValue("$spot", spot);
            insert.Parameters.AddWithValue("$measured", measured ?? (object)DBNull.Value);
            insert.Parameters.AddWithValue("$boot", boot);
            insert.Parameters.AddWithValue("$bootMs", bootMs);
            Bind(insert, reading);
            stored += insert.ExecuteNonQuery();
        }
        if (taken.Where(one => one.Dated).Select(one => one.Reading.MeasuredAt.ToUnixTimeMilliseconds()).DefaultIfEmpty().Max() is > 0 and var latest)
            LastDated_InTransaction(latest);
        Count_InTransaction(OutboxCount.Duplicate, taken.Count - stored);
        foreach (var (what, by) in counts)
            Count_InTransaction(what, by);
        transaction.Commit();
        return stored;
    }

    /// <summary>The first dated readings after a number, in order.</summary>
    public List<OutboxEntry> Peek(long after, int max)
    {
        using var select = Command(
            $"""
            SELECT reading.id, spot.name, measured_ms, {Columns}, boot, boot_ms FROM reading JOIN spot ON spot.id = reading.spot
            WHERE measured_ms IS NOT NULL AND reading.id > $after ORDER BY reading.id LIMIT $max
            """, ("$after", after), ("$max", max));
        using var rows = select.ExecuteReader();
        var entries = new List<OutboxEntry>();
        while (rows.Read())
            entries.Add(ReadEntry(rows));
        return entries;
    }

    /// <summary>Removes what the broker has, and remembers for a day which moments that took.</summary>
    public void Remove(IEnumerable<long> numbers)
    {
        using var transaction = _connection.BeginTransaction();
        using var remember = Command(
            "INSERT OR IGNORE INTO sent SELECT spot, measured_ms, boot, boot_ms FROM reading WHERE id = $id AND measured_ms IS NOT NULL", ("$id", 0L));
        foreach (var number in numbers)
        {
            remember.Parameters["$id"].Value = number;
            remember.ExecuteNonQuery();
        }

        Run("DELETE FROM sent WHERE measured_ms < (SELECT dated_ms FROM last) - $day", ("$day", RememberedMilliseconds));
        Delete_InTransaction(numbers);
        transaction.Commit();
    }

    /// <summary>Puts readings aside that the server refuses for good.</summary>
    public void SetAside(IReadOnlyCollection<long> numbers, string reason)
    {
        using var transaction = _connection.BeginTransaction();
        foreach (var number in numbers)
            Run("INSERT INTO refused SELECT spot, measured_ms, surface_celsius, $reason FROM reading WHERE id = $id", ("$reason", reason), ("$id", number));
        Delete_InTransaction(numbers);
        Count_InTransaction(OutboxCount.Refused, numbers.Count);
        transaction.Commit();
    }

    /// <summary>Notes readings that the server does not take with their dates.</summary>
    public void PutOff(IReadOnlyCollection<long> numbers)
    {
        using var transaction = _connection.BeginTransaction();
        foreach (var number in numbers)
            Run("INSERT OR IGNORE INTO put_off VALUES ($id)", ("$id", number));
        Count_InTransaction(OutboxCount.PutOff, numbers.Count);
        transaction.Commit();
    }

    /// <summary>How many that wait were put off.</summary>
    public long CountPutOff() => Number("SELECT count(*) FROM put_off JOIN reading USING (id)");

    /// <summary>Dates the readings of a boot that are held: its start by the calendar is now known.</summary>
    /// <param name="boot">The boot.</param>
    /// <param name="bootedAt">When it began.</param>
    /// <param name="again">Also those that were dated by a clock that turned out wrong.</param>
    /// <param name="handedOver">Of those, the ones up to this number stay as they are, unless the server put them off: then it does not have them.</param>
    public int Date(string boot, DateTimeOffset bootedAt, bool again, long handedOver)
    {
        using var transaction = _connection.BeginTransaction();
        // All undated first: shifted one by one, a reading would meet the time its neighbour still has.
        if (again)
            Run("UPDATE reading SET measured_ms = NULL WHERE boot = $boot AND (id > $after OR id IN (SELECT id FROM put_off))", ("$boot", boot), ("$after", handedOver));
        var start = bootedAt.ToUnixTimeMilliseconds();
        var dated = Run(
            """
            UPDATE OR IGNORE reading SET measured_ms = boot_ms + $start WHERE measured_ms IS NULL AND boot = $boot
                AND NOT EXISTS (SELECT 1 FROM sent WHERE sent.spot = reading.spot AND sent.measured_ms = reading.boot_ms + $start)
            """, ("$start", start), ("$boot", boot));
        using var free = FreeMoment();
        foreach (var (number, spot, bootMs) in Undated_InTransaction(boot))
        {
            if (Free_InTransaction(free, spot, bootMs + start, boot, bootMs) is { } moment)
                dated += Run("UPDATE reading SET measured_ms = $ms WHERE id = $id", ("$ms", moment), ("$id", number));
        }

        Count_InTransaction(OutboxCount.Duplicate, Run("DELETE FROM reading WHERE measured_ms IS NULL AND boot = $boot", ("$boot", boot)));
        if (dated > 0)
            LastDated_InTransaction(Number("SELECT max(measured_ms) FROM reading WHERE boot = $boot", ("$boot", boot)));
        if (again)
            Run("DELETE FROM put_off WHERE id IN (SELECT id FROM reading WHERE boot = $boot)", ("$boot", boot));
        transaction.Commit();
        return dated;
    }

    /// <summary>Gives up readings held by boots that are over: nothing tells any more when they were taken.</summary>
    public int GiveUpUndatable(string currentBoot)
    {
        using var transaction = _connection.BeginTransaction();
        var gone = Run("DELETE FROM reading WHERE measured_ms IS NULL AND boot <> $boot", ("$boot", currentBoot));
        Count_InTransaction(OutboxCount.Undatable, gone);
        transaction.Commit();
        return gone;
    }

    /// <summary>Makes room: thins the oldest to ten-minute means, or gives the oldest up when all are thinned.</summary>
    /// <returns>Whether there was anything to do, how many readings were thinned away, and how many given up.</returns>
    public (bool Any, int Thinned, int GivenUp) MakeRoom(int rows)
    {
        using var transaction = _connection.BeginTransaction();
        var oldest = new List<OutboxEntry>();
        using (var select = Command(
            $"""
            SELECT reading.id, spot.name, measured_ms, {Columns}, boot, boot_ms FROM reading JOIN spot ON spot.id = reading.spot
            WHERE measured_ms IS NOT NULL AND NOT thinned ORDER BY reading.id LIMIT $rows
            """, ("$rows", rows)))
        using (var reader = select.ExecuteReader())
        {
            while (reader.Read())
                oldest.Add(ReadEntry(reader));
        }
        var thinned = 0;
        foreach (var entries in oldest.GroupBy(entry => (entry.Reading.Spot, TenMinuteMean.SpanOf(entry.Reading.MeasuredAt.ToUnixTimeMilliseconds())))
            .SelectMany(span => TenMinuteMean.Parts([.. span], entry => entry.Reading)))
        {
            using var update = Command(
                """
                UPDATE reading SET thinned = 1, surface_celsius = $surface, air_celsius = $air, humidity_percent = $humidity,
                    sensor_celsius = $sensor, light_lux = $light, supply_volts = $supply, spread_kelvin = $spread,
                    quality = $quality, doubt = $doubt
                WHERE id = $id
                """, ("$id", entries[^1].Number));
            Bind(update, TenMinuteMean.Of(entries.ConvertAll(entry => entry.Reading)));
            update.ExecuteNonQuery();
            Delete_InTransaction(entries.SkipLast(1).Select(entry => entry.Number));
            thinned += entries.Count - 1;
        }
        var givenUp = oldest.Count > 0 ? 0
            : Run("DELETE FROM reading WHERE id IN (SELECT id FROM reading ORDER BY id LIMIT $rows)", ("$rows", rows));
        Count_InTransaction(OutboxCount.Thinned, thinned);
        Count_InTransaction(OutboxCount.GivenUp, givenUp);
        transaction.Commit();
        return (oldest.Count + givenUp > 0, thinned, givenUp);
    }

    public Dictionary<OutboxCount, long> Counts()
    {
        var counts = Enum.GetValues<OutboxCount>().ToDictionary(what => what, _ => 0L);
        using var select = Command("SELECT name, value FROM count");
        using var rows = select.ExecuteReader();
        while (rows.Read())
        {
            if (Enum.TryParse<OutboxCount>(rows.GetString(0), out var what))
                counts[what] = rows.GetInt64(1);
        }
        return counts;
    }

    /// <summary>Numbers the readings of a new file from here on: whoever still holds numbers of the file before must not meet them again.</summary>
    public void NumberFrom(long number)
    {
        using var insert = Command("INSERT INTO sqlite_sequence (name, seq) SELECT 'reading', $number WHERE NOT EXISTS (SELECT 1 FROM sqlite_sequence WHERE name = 'reading')");
        insert.Parameters.AddWithValue("$number", number);
        insert.ExecuteNonQuery();
    }

    /// <summary>The number of the last reading there ever was; 0 when there was none.</summary>
    public long LastNumber() => Number("SELECT coalesce(max(seq), 0) FROM sqlite_sequence WHERE name = 'reading'");

    /// <summary>Up to which number readings may have gone to the broker.</summary>
    public long HandedOver()
    {
        using var select = Command("SELECT number FROM handed_over");
        return select.ExecuteScalar() switch
        {
            long number => number,
            DBNull => LastNumber(),
            _ => 0,
        };
    }

    /// <summary>Notes that number; <c>null</c> for whatever there is and will be.</summary>
    public void NoteHandedOver(long? number) =>
        Run("INSERT INTO handed_over VALUES (1, $number) ON CONFLICT(one) DO UPDATE SET number = $number", ("$number", number ?? (object)DBNull.Value));

    /// <summary>Notes the latest moment of a file that was set aside.</summary>
    public void NoteLastDated(DateTimeOffset last)
    {
        using var transaction = _connection.BeginTransaction();
        LastDated_InTransaction(last.ToUnixTimeMilliseconds());
        transaction.Commit();
    }

    public DateTimeOffset? LastDated()
    {
        using var select = Command("SELECT dated_ms FROM last");
        return select.ExecuteScalar() is long milliseconds ? DateTimeOffset.FromUnixTimeMilliseconds(milliseconds) : null;
    }

    public long Waiting() => Number("SELECT count(*) FROM reading WHERE measured_ms IS NOT NULL");

    public long Held() => Number("SELECT count(*) FROM reading WHERE measured_ms IS NULL");

    public long FileBytes() => checked(Number("PRAGMA page_count") * Number("PRAGMA page_size"));

    public long UsedBytes() => checked((Number("PRAGMA page_count") - Number("PRAGMA freelist_count")) * Number("PRAGMA page_size"));

    public void Dispose() => _connection.Dispose();

    /// <summary>Notes the latest moment; one more than a day ahead came from a clock that was wrong, and is forgotten.</summary>
    private void LastDated_InTransaction(long latest) =>
        Run(
            """
            INSERT INTO last VALUES (1, $ms) ON CONFLICT(one)
            DO UPDATE SET dated_ms = CASE WHEN dated_ms > $ms + 86400000 THEN $ms ELSE max(dated_ms, $ms) END
            """, ("$ms", latest));

    /// <summary>
    /// The moment to date a reading with: the first from its own on, in milliseconds, that no other reading of its spot has or had.
    /// Readings come on whole minutes, and a clock that was set back meets the minutes it dated before.
    /// </summary>
    /// <returns><c>null</c> where this very reading is there or was sent.</returns>
    private static long? Free_InTransaction(SqliteCommand free, long spot, long measuredMs, string boot, long bootMs)
    {
        free.Parameters.Clear();
        free.Parameters.AddWithValue("$spot", spot);
        free.Parameters.AddWithValue("$boot", boot);
        free.Parameters.AddWithValue("$bootMs", bootMs);
        var moment = free.Parameters.AddWithValue("$ms", measuredMs);
        for (; ; moment.Value = ++measuredMs)
        {
            switch (free.ExecuteScalar())
            {
                case 1L:
                    return null;
                case not 0L:
                    return measuredMs;
            }
        }
    }

    // Nothing where nobody has the moment; 1 where it is this very reading, 0 where it is another.
    private SqliteCommand FreeMoment() => Command(
        """
        SELECT max(boot = $boot AND boot_ms = $bootMs) FROM (
            SELECT boot, boot_ms FROM reading WHERE spot = $spot AND measured_ms = $ms
            UNION ALL SELECT boot, boot_ms FROM sent WHERE spot = $spot AND measured_ms = $ms)
        """);

    private List<(long Number, long Spot, long BootMs)> Undated_InTransaction(string boot)
    {
        using var select = Command("SELECT id, spot, boot_ms FROM reading WHERE measured_ms IS NULL AND boot = $boot ORDER BY id", ("$boot", boot));
        using var rows = select.ExecuteReader();
        var undated = new List<(long, long, long)>();
        while (rows.Read())
            undated.Add((rows.GetInt64(0), rows.GetInt64(1), rows.GetInt64(2)));
        return undated;
    }

    private long SpotKey_InTransaction(SpotId spot)
    {
        Run("INSERT OR IGNORE INTO spot(name) VALUES ($name)", ("$name", spot.Value));
        return Number("SELECT id FROM spot WHERE name = $name", ("$name", spot.Value));
    }

    private void Delete_InTransaction(IEnumerable<long> numbers)
    {
        using var delete = Command("DELETE FROM reading WHERE id = $id; DELETE FROM put_off WHERE id = $id", ("$id", 0L));
        foreach (var number in numbers)
        {
            delete.Parameters["$id"].Value = number;
            delete.ExecuteNonQuery();
        }
    }

    private void Count_InTransaction(OutboxCount what, long by)
    {
        if (by > 0)
            Run("INSERT INTO count VALUES ($name, $by) ON CONFLICT(name) DO UPDATE SET value = value + $by", ("$name", what.ToString()), ("$by", by));
    }
}
