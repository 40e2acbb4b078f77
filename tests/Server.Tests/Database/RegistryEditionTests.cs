using Microsoft.Data.Sqlite;
using Microsoft.EntityFrameworkCore;
using Microsoft.EntityFrameworkCore.Infrastructure;
using Microsoft.EntityFrameworkCore.Migrations;
using Microsoft.Extensions.DependencyInjection;
using PavementWatch.Core.Alerts;
using PavementWatch.Core.Surfaces;
using PavementWatch.Server.Checks;
using PavementWatch.Server.Commands;
using PavementWatch.Server.Database;
using PavementWatch.Server.Hosting;
using PavementWatch.Server.Notifications;
using PavementWatch.Server.Spots;
using PavementWatch.Server.Store;

namespace PavementWatch.Server.Tests.Database;

/// <summary>Tables of an earlier server are copied before they are changed; those of a later one are left alone.</summary>
public sealed class RegistryEditionTests : IDisposable
{
    private const string Before = "20261129103523_Start";

    private readonly string _folder = Directory.CreateTempSubdirectory("pw-edition-").FullName;

    private static CancellationToken Cancel => TestContext.Current.CancellationToken;

    private string Copies => Path.Combine(_folder, "registry-copies");

    public void Dispose()
    {
        SqliteConnection.ClearAllPools();
        Directory.Delete(_folder, recursive: true);
    }

    [Fact]
    public async Task An_earlier_registry_is_copied_before_its_tables_change()
    {
        await MakeAsync(Before);
        Directory.CreateDirectory(Copies);
        foreach (var older in new[] { "20250101000000_A", "20250201000000_B", "20250301000000_C" })
            await File.WriteAllTextAsync(Path.Combine(Copies, $"registry-{older}.sqlite"), "", Cancel);

        var (exit, _, error) = await RunAsync("fit");

        Assert.True(exit == 0, error);
        Assert.Equal(
            ["registry-20250201000000_B.sqlite", "registry-20250301000000_C.sqlite", $"registry-{Before}.sqlite"],
            Directory.GetFiles(Copies).Select(Path.GetFileName).Order(StringComparer.Ordinal));
        Assert.Equal(Before, await LastAsync(Path.Combine(Copies, $"registry-{Before}.sqlite")));
        Assert.NotEqual(Before, await LastAsync(Path.Combine(_folder, "registry.sqlite")));
        // Once is enough: nothing is left to change.
        File.Delete(Path.Combine(Copies, $"registry-{Before}.sqlite"));
        Assert.Equal(0, (await RunAsync("fit")).Exit);
        Assert.Equal(2, Directory.GetFiles(Copies).Length);
    }

    [Fact]
    public async Task Tables_do_not_change_beneath_a_running_server()
    {
        await MakeAsync(Before);
        await using var server = ServerApp.Build(new ServerAppOptions { DataFolder = _folder });
        _ = server.Services.GetRequiredService<DataFolderLock>();

        var (exit, _, error) = await RunAsync("fit");

        Assert.Equal(1, exit);
        Assert.Contains($"a server has it open already (process {Environment.ProcessId})", error, StringComparison.Ordinal);
        Assert.Equal(Before, await LastAsync(Path.Combine(_folder, "registry.sqlite")));
    }

    [Fact]
    public async Task A_later_registry_is_refused_with_what_to_do()
    {
        Assert.Equal(0, (await RunAsync("fit")).Exit);
        var backup = Path.Combine(_folder, "backup");
        await using (var db = Open())
        {
            await db.Database.ExecuteSqlRawAsync(
                "INSERT INTO __EFMigrationsHistory (MigrationId, ProductVersion) VALUES ('20990101000000_Later', '99')", Cancel);
        }

        var (exit, _, error) = await RunAsync("fit");
        Assert.Equal(1, exit);
        Assert.Contains("registry.sqlite has tables of a newer server (20990101000000_Later)", error, StringComparison.Ordinal);
        Assert.Contains("run the newer server", error, StringComparison.Ordinal);

        Assert.Equal(0, (await RunAsync("backup", backup)).Exit);
        await File.WriteAllBytesAsync(Path.Combine(backup, "readings.sqlite"), [], Cancel);
        var restore = await RunAsync("restore", backup);
        Assert.Equal((1, true), (restore.Exit, restore.Error.Contains("tables of a newer server", StringComparison.Ordinal)));
    }

    [Fact]
    public async Task What_an_earlier_server_told_keeps_its_side_and_a_limit()
    {
        await MakeAsync(Before);
        string[] texts = ["Plaza is too hot: the ground is at 52 °C (126 °F), the limit is 47 °C (117 °F).", "Plaza is bitterly cold: the ground is at -12 °C (10 °F). Frost can injure pads: keep it short."];
        await using (var db = Open())
        {
            await db.Database.ExecuteSqlRawAsync(
                "INSERT INTO Spots (Id, Position, Name, Site, Surface, LatitudeDegrees, LongitudeDegrees, TimeZoneId, LimitCelsius, RadiusMeters) VALUES ('plaza', 0, 'Plaza', '', 'Asphalt', 37.4, -97, 'America/Chicago', 47, 800)", Cancel);
            for (var id = 1; id <= texts.Length; id++)
            {
                await db.Database.ExecuteSqlRawAsync(
                    "INSERT INTO AlertEvents (Id, SpotId, \"From\", \"To\", Because, At, SurfaceCelsius, Notified, Text, Walkers, Unseen) VALUES ({0}, 'plaza', 'Clear', 'TooHot', 'ReadingsOverLimit', 1000, 52, 1, {1}, 0, 'None')", [id, texts[id - 1]], Cancel);
                await db.Database.ExecuteSqlRawAsync(
                    "INSERT INTO Notifications (Id, EventId, PersonId, SubscriptionId, SpotId, Payload, CreatedAt, ExpiresAt, NextAttemptAt, Attempts, Standing, LastFault) VALUES ({0}, {1}, 1, 1, 'plaza', '{{}}', 1000, 2000, 1000, 1, 'Sent', '')", [Guid.NewGuid(), id], Cancel);
            }

            await db.Database.MigrateAsync(Cancel);
        }

        await using var after = Open();
        var changes = await after.AlertEvents.OrderBy(e => e.Id).ToListAsync(Cancel);
        Assert.Equal([(AlertSide.Heat, 47.0), (AlertSide.Cold, 0.0)], changes.Select(e => (e.Side, e.LimitCelsius)));
        Assert.Equal((AlertReason.ReadingsOverLimit, 52.0, true), (changes[0].Because, changes[0].SurfaceCelsius, changes[0].Notified));
        var spot = (await after.Spots.SingleAsync(Cancel)).ToSpot();
        Assert.Equal((47.0, null, LimitChanger.Unknown), (spot.LimitCelsius, spot.ColdLimitCelsius, spot.ColdLimitChangedBy));
        Assert.Equal([AlertSide.Heat, AlertSide.Cold], await after.Notifications.OrderBy(n => n.EventId).Select(n => n.Side).ToListAsync(Cancel));
    }

    [Fact]
    public async Task Who_was_there_before_units_were_chosen_reads_both()
    {
        await MakeAsync(Before);
        await using (var db = Open())
        {
            await db.Database.ExecuteSqlRawAsync(
                "INSERT INTO People (Id, UserName, NormalizedUserName, Role, CreatedAt, EmailConfirmed, PhoneNumberConfirmed, TwoFactorEnabled, LockoutEnabled, AccessFailedCount) VALUES (1, 'Ines', 'Ines', 'Walker', 1000, 0, 0, 0, 0, 0)", Cancel);
            await db.Database.MigrateAsync(Cancel);
        }

        await using var after = Open();
        Assert.Equal(("Ines", TemperatureUnit.Both), await after.People.Select(p => ValueTuple.Create(p.UserName!, p.Unit)).SingleAsync(Cancel));
    }

    [Fact]
    public async Task Thresholds_of_before_thermometers_had_an_accuracy_go_on_with_the_usual_one()
    {
        await MakeAsync(Before);
        await using (var db = Open())
        {
            await db.Database.ExecuteSqlRawAsync(
                "INSERT INTO AgreementThresholds (LeastPairs, MostBiasKelvin, MostDifferenceKelvin, LeastSpanKelvin, SetAt, PersonName) VALUES (5, 0.5, 3, 10, 1000, 'Odile')", Cancel);
            await db.Database.MigrateAsync(Cancel);
        }

        await using var after = Open();
        Assert.Equal((5, 1.5), await after.AgreementThresholds.Select(t => ValueTuple.Create(t.LeastPairs, t.ThermometerAccuracyKelvin)).SingleAsync(Cancel));
    }

    private async Task MakeAsync(string migration)
    {
        await using var db = Open();
        await db.GetService<IMigrator>().MigrateAsync(migration, Cancel);
        SqliteConnection.ClearAllPools();
    }

    private RegistryDb Open()
    {
        var app = ServerApp.Build(new ServerAppOptions { DataFolder = _folder });
        return app.Services.GetRequiredService<IDbContextFactory<RegistryDb>>().CreateDbContext();
    }

    private static async Task<string> LastAsync(string path)
    {
        await using var connection = DatabaseCopy.OpenForWriting(path);
        await using var command = connection.CreateCommand();
        command.CommandText = "SELECT MAX(MigrationId) FROM __EFMigrationsHistory";
        return (string)(await command.ExecuteScalarAsync(Cancel))!;
    }

    private async Task<(int Exit, string Output, string Error)> RunAsync(params string[] args)
    {
        using var output = new StringWriter();
        using var error = new StringWriter();
        var exit = await CommandLine.RunAsync([.. args, $"--Data:Folder={_folder}"], output, error);
        SqliteConnection.ClearAllPools();
        return (exit, output.ToString(), error.ToString());
    }
}
