using Microsoft.Data.Sqlite;

namespace PavementWatch.Gateway.Outbox;

// Which tables it has, and how it came to have them: the edition stands in the file as user_version.
internal sealed partial class OutboxFile
{
    /// <summary>
    /// What makes each edition of the one before; what has been in use is never changed, only added to. The first also takes
    /// files of before editions were numbered, which had these tables or some of them.
    /// </summary>
    private static readonly string[] Migrations =
    [
        """
        CREATE TABLE IF NOT EXISTS spot(id INTEGER PRIMARY KEY, name TEXT NOT NULL UNIQUE) STRICT;
        CREATE TABLE IF NOT EXISTS reading(
            id INTEGER PRIMARY KEY AUTOINCREMENT,
            spot INTEGER NOT NULL,
            measured_ms INTEGER,
            boot TEXT NOT NULL,
            boot_ms INTEGER NOT NULL,
            thinned INTEGER NOT NULL DEFAULT 0,
            surface_celsius REAL, air_celsius REAL, humidity_percent REAL, sensor_celsius REAL, light_lux REAL, supply_volts REAL,
            quality INTEGER NOT NULL,
            doubt INTEGER NOT NULL) STRICT;
        CREATE UNIQUE INDEX IF NOT EXISTS reading_once ON reading(spot, measured_ms);
        CREATE INDEX IF NOT EXISTS reading_held ON reading(boot) WHERE measured_ms IS NULL;
        CREATE INDEX IF NOT EXISTS reading_not_thinned ON reading(id) WHERE measured_ms IS NOT NULL AND NOT thinned;
        CREATE TABLE IF NOT EXISTS refused(spot INTEGER NOT NULL, measured_ms INTEGER, surface_celsius REAL, reason TEXT NOT NULL) STRICT;
        CREATE TABLE IF NOT EXISTS put_off(id INTEGER PRIMARY KEY) STRICT;
        CREATE TABLE IF NOT EXISTS last(one INTEGER PRIMARY KEY, dated_ms INTEGER NOT NULL) STRICT;
        CREATE TABLE IF NOT EXISTS handed_over(one INTEGER PRIMARY KEY, number INTEGER) STRICT;
        CREATE TABLE IF NOT EXISTS count(name TEXT PRIMARY KEY, value INTEGER NOT NULL) STRICT;
        """,
        "ALTER TABLE reading ADD COLUMN spread_kelvin REAL",
        """
        CREATE TABLE sent(
            spot INTEGER NOT NULL,
            measured_ms INTEGER NOT NULL,
            boot TEXT NOT NULL,
            boot_ms INTEGER NOT NULL,
            PRIMARY KEY (spot, measured_ms)) STRICT, WITHOUT ROWID;
        CREATE INDEX sent_when ON sent(measured_ms);
        """,
    ];

    /// <summary>The columns of the edition in use; one that is missing shows a file whose edition is not what it says.</summary>
    private static readonly Dictionary<string, string[]> TableColumns = new()
    {
        ["spot"] = ["id", "name"],
        ["reading"] =
        [
            "id", "spot", "measured_ms", "boot", "boot_ms", "thinned", "surface_celsius", "air_celsius", "humidity_percent", "sensor_celsius",
            "light_lux", "supply_volts", "quality", "doubt", "spread_kelvin",
        ],
        ["refused"] = ["spot", "measured_ms", "surface_celsius", "reason"],
        ["put_off"] = ["id"],
        ["sent"] = ["spot", "measured_ms", "boot", "boot_ms"],
        ["last"] = ["one", "dated_ms"],
        ["handed_over"] = ["one", "number"],
        ["count"] = ["name", "value"],
    };

    /// <summary>Brings the file to the edition this program knows.</summary>
    /// <exception cref="SqliteException">With <see cref="SqliteCodes.Error"/>: the file is of an edition this program does not know.</exception>
    private void Migrate()
    {
        var found = Number("PRAGMA user_version");
        if (found > Migrations.Length)
            throw new SqliteException($"the file is of edition {found}, this program knows editions up to {Migrations.Length}", SqliteCodes.Error);
        if (found < Migrations.Length)
        {
            using var transaction = _connection.BeginTransaction();
            foreach (var migration in Migrations.Skip((int)found))
                Run(migration);
            Run($"PRAGMA user_version = {Migrations.Length}");
            transaction.Commit();
        }

        foreach (var (table, columns) in TableColumns)
        {
            foreach (var column in columns.Where(column => Number("SELECT count(*) FROM pragma_table_info($table) WHERE name = $column", ("$table", table), ("$column", column)) == 0))
                throw new SqliteException($"the file says edition {found}, but its table {table} has no {column}", SqliteCodes.Error);
        }
    }
}
