using System.Data.Common;
using Microsoft.EntityFrameworkCore;

namespace PavementWatch.Server.Database;

/// <summary>Whether this server can use a registry's tables, told from the migrations that made them.</summary>
internal static class RegistryEdition
{
    /// <summary>Refuses tables that a newer server made: this one would read them wrongly.</summary>
    /// <param name="path">The file, for the words.</param>
    /// <param name="applied">Migrations that made its tables.</param>
    /// <param name="known">Migrations this server has.</param>
    /// <exception cref="IOException">It has migrations this server does not know.</exception>
    public static void Accept(string path, IEnumerable<string> applied, IEnumerable<string> known)
    {
        var mine = known.ToList();
        if (applied.Except(mine, StringComparer.Ordinal).FirstOrDefault() is { } newer)
        {
            throw new IOException(
                $"{path} has tables of a newer server ({newer}), this one knows them up to {mine[^1]}; run the newer server, "
                + "or restore a backup from before it");
        }
    }

    /// <summary>Says what a registry holds.</summary>
    /// <exception cref="IOException">It is none, or a newer server's.</exception>
    public static async Task<string> TellAsync(DbConnection connection, RegistryDb db, CancellationToken cancellationToken)
    {
        if (await NumberAsync(connection, "SELECT COUNT(*) FROM sqlite_master WHERE name IN ('__EFMigrationsHistory', 'Spots', 'Gateways')", cancellationToken) < 3)
            throw new IOException($"{connection.DataSource} is not a registry of this server: its tables are missing");
        List<string> applied = [];
        await using (var history = connection.CreateCommand())
        {
            history.CommandText = "SELECT MigrationId FROM __EFMigrationsHistory ORDER BY MigrationId";
            await using var rows = await history.ExecuteReaderAsync(cancellationToken);
            while (await rows.ReadAsync(cancellationToken))
                applied.Add(rows.GetString(0));
        }

        Accept(connection.DataSource, applied, db.Database.GetMigrations());
        return $"{await NumberAsync(connection, "SELECT COUNT(*) FROM Spots", cancellationToken)} spots, "
            + $"{await NumberAsync(connection, "SELECT COUNT(*) FROM Gateways", cancellationToken)} gateways";
    }

    private static async Task<long> NumberAsync(DbConnection connection, string sql, CancellationToken cancellationToken)
    {
        await using var command = connection.CreateCommand();
#pragma warning disable CA2100 // The texts are constants of this file.
        command.CommandText = sql;
#pragma warning restore CA2100
        return (long)(await command.ExecuteScalarAsync(cancellationToken))!;
    }
}
