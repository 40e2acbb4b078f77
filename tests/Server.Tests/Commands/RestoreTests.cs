using System.Data.Common;
using System.Globalization;
using System.Net;
using Microsoft.Data.Sqlite;
using Microsoft.EntityFrameworkCore;
using Microsoft.Extensions.Time.Testing;
using PavementWatch.Core.Alerts;
using PavementWatch.Core.Readings;
using PavementWatch.Core.Wire;
using PavementWatch.Server.Commands;
using PavementWatch.Server.Database;
using PavementWatch.Server.Dogs;
using PavementWatch.Server.Gateways;
using PavementWatch.Server.Notifications;
using PavementWatch.Server.Notifications.WebPush;
using PavementWatch.Server.People;
using PavementWatch.Server.Store;
using PavementWatch.Server.Tests.Api;
using PavementWatch.Server.Tests.Notifications;
using PavementWatch.Server.Tests.Processes;
using PavementWatch.Server.Tests.Store;
using PavementWatch.Server.Watch;
using PavementWatch.Tests;
using static PavementWatch.Server.Tests.Api.RunningServer;

namespace PavementWatch.Server.Tests.Commands;

/// <summary>What a backup holds comes back, after a crash too, or nothing is touched.</summary>
public sealed class RestoreTests : IDisposable
{
    private readonly string _folder = Directory.CreateTempSubdirectory("pw-restore-").FullName;

    private static CancellationToken Cancel => TestContext.Current.CancellationToken;

    private string DataFolder => Path.Combine(_folder, "data");

    private string Data => $"--Data:Folder={DataFolder}";

    private string Backup => Path.Combine(_folder, "backup");

    public void Dispose()
    {
        SqliteConnection.ClearAllPools();
        Directory.Delete(_folder, recursive: true);
    }

    [Fact]
    public async Task After_a_crash_a_backup_comes_back_as_it_was()
    {
        await AddSpotAsync();
        string backedUp;
        await using (var server = await ServerProcess.ServeReadyAsync(DataFolder))
        {
            await ImportAsync(1, 500);
            Assert.Equal(0, (await RunAsync("backup", Backup, Data)).Exit);
            backedUp = await ExportAsync();
            // The same rows in other pages, and new ones: what they left behind must not get into the restored file.
            await ImportAsync(501, 1500);
            await server.KillAsync();
        }

        Assert.True(new FileInfo(Path.Combine(DataFolder, "readings.sqlite-wal")).Length > 0, "the crash left nothing behind");
        var restore = await RunAsync("restore", Backup, Data);

        Assert.True(restore.Exit == 0, restore.Error);
        Assert.Contains("registry: 1 spots, 0 gateways", restore.Output, StringComparison.Ordinal);
        Assert.Contains("readings: 500 of 1 spots, the newest of 2026-07-01T08:20:00Z", restore.Output, StringComparison.Ordinal);
        await using (await ServerProcess.ServeReadyAsync(DataFolder))
            Assert.Equal(backedUp, await ExportAsync());
        await using var check = DatabaseCopyCheck(Path.Combine(DataFolder, "readings.sqlite"));
        Assert.Equal("ok", await check.ExecuteScalarAsync(Cancel));
        var aside = Assert.Single(Directory.GetDirectories(DataFolder, "before-restore-*"));
        Assert.True(File.Exists(Path.Combine(aside, "readings.sqlite-wal")) && File.Exists(Path.Combine(aside, "registry.sqlite")));
    }

    [Fact]
    public async Task In_a_restored_registry_who_reads_does_not_lock_out_who_writes()
    {
        await AddSpotAsync();
        await ImportAsync(1, 10);
        Assert.Equal(0, (await RunAsync("backup", Backup, Data)).Exit);
        Assert.Equal(0, (await RunAsync("restore", Backup, Data)).Exit);
        await using var server = await ServerProcess.ServeReadyAsync(DataFolder);
        var file = new SqliteConnectionStringBuilder { DataSource = Path.Combine(DataFolder, "registry.sqlite"), Pooling = false, DefaultTimeout = 1 };
        await using var reads = new SqliteConnection(file.ToString());
        await using var writes = new SqliteConnection(file.ToString());
        await reads.OpenAsync(Cancel);
        await writes.OpenAsync(Cancel);

        await using var look = reads.BeginTransaction(deferred: true);
        await using var looking = new SqliteCommand("SELECT COUNT(*) FROM Spots", reads, look);
        Assert.Equal(1L, await looking.ExecuteScalarAsync(Cancel));
        await using var write = new SqliteCommand("UPDATE Spots SET Name = 'Another place'", writes);

        Assert.Equal(1, await write.ExecuteNonQueryAsync(Cancel));
    }

    [Fact]
    public async Task What_was_ended_used_or_sent_since_the_backup_does_not_come_back()
    {
        await using var service = await ReceiverHost.StartAsync();
        var (cookies, code, home) = (new CookieContainer(), EnrolmentCode.New(), new Uri("/", UriKind.Relative));
        string link, owner;
        await using (var server = await StartAsync(DataFolder, settings: service.AsAllowed))
        {
            var people = server.Get<PersonStore>();
            var ines = await people.AddAsync("Ines", Role.Walker, Cancel);
            using var browser = server.Browser(cookies: cookies);
            using var entered = await browser.EnterAsync($"/enter/{await people.NewSignInTokenAsync(ines.Id, Cancel)}");
            using var page = await browser.GetAsync(home, Cancel);
            Assert.Equal(HttpStatusCode.OK, page.StatusCode);
            link = await people.NewSignInTokenAsync(ines.Id, Cancel);
            await server.Get<GatewayStore>().SetGatewayAsync(GatewayId.Parse("north-gate"), "secret", [NorthGate.Id], Cancel);
            await using (var db = await server.Get<IDbContextFactory<RegistryDb>>().CreateDbContextAsync(Cancel))
            {
                db.Dogs.Add(new DogRow { Name = "Pickle" });
                db.EnrolmentCodes.Add(new EnrolmentCodeRow { GatewayId = "north-gate", CodeHash = EnrolmentCode.Hash(code), CreatedAt = Noon, ExpiresAt = Noon.AddMinutes(30) });
                await db.SaveChangesAsync(Cancel);
                owner = await people.NewOwnerTokenAsync((await db.Dogs.SingleAsync(Cancel)).Id, TimeSpan.FromDays(14), Cancel);
            }

            using (var shown = await browser.GetAsync(new Uri($"/o/{owner}", UriKind.Relative), Cancel))
                Assert.Equal(HttpStatusCode.OK, shown.StatusCode);
            await PutOffAWarningAsync(server, service, ines.Id);
            Assert.Equal(0, (await RunAsync("backup", Backup, Data)).Exit);
        }

        var restore = await RunAsync("restore", Backup, Data);

        Assert.True(restore.Exit == 0, restore.Error);
        Assert.Contains("sessions: 1 ended; people sign in with their passkey, or with a new link", restore.Output, StringComparison.Ordinal);
        Assert.Contains("links: 1 for signing in and 1 of owners revoked", restore.Output, StringComparison.Ordinal);
        Assert.Contains("enrolment codes: 1 expired", restore.Output, StringComparison.Ordinal);
        Assert.Contains("messages: 1 that waited are not sent", restore.Output, StringComparison.Ordinal);
        Assert.Contains("alerts: what was told of 1 spots is forgotten", restore.Output, StringComparison.Ordinal);
        Assert.Contains("one whose password was changed since the backup must be enrolled again", restore.Output, StringComparison.Ordinal);
        await using (var server = await StartAsync(DataFolder, new FakeTimeProvider(Noon.AddMinutes(1)), service.AsAllowed, spots: []))
        {
            using var browser = server.Browser(cookies: cookies);
            using var page = await browser.GetAsync(home, Cancel);
            Assert.NotEqual(HttpStatusCode.OK, page.StatusCode);
            Assert.Null(await server.Get<PersonStore>().WhoseAsync(link, Cancel));
            using var shown = await browser.GetAsync(new Uri($"/o/{owner}", UriKind.Relative), Cancel);
            Assert.NotEqual(HttpStatusCode.OK, shown.StatusCode);
            Assert.IsType<RedeemOutcome.Expired>(await server.Get<EnrolmentCodeStore>().RedeemAsync(code, Cancel));
            await using (var db = await server.Get<IDbContextFactory<RegistryDb>>().CreateDbContextAsync(Cancel))
                Assert.True(SecretHash.Matches("secret", (await db.Gateways.SingleAsync(Cancel)).SecretHash));

            // Of the same heat and day: only a memory of before the backup would keep silent.
            for (var i = 0; i < 2; i++)
            {
                server.Time.Advance(TimeSpan.FromMinutes(1));
                await server.MeasureAsync(Good(NorthGate, server.Time.GetUtcNow(), 55 + i));
                await server.SeenAsync(NorthGate, s => s.SurfaceCelsius == 55 + i);
            }

            var told = PushMessageBody.Of((await service.NextAsync()).Text);
            Assert.True(told.At > Noon, $"what waited in the backup was sent: {told}");
        }
    }

    [Fact]
    public async Task Packs_that_were_set_aside_are_in_a_backup_and_are_stored_after_a_restore()
    {
        await AddSpotAsync();
        await ImportAsync(1, 10);
        var pack = await SetAsideAsync(DataFolder, Noon.AddMinutes(-5), 61);
        await File.WriteAllTextAsync(pack + ".next", "half of one", Cancel);

        var backup = await RunAsync("backup", Backup, Data);

        Assert.Equal(0, backup.Exit);
        Assert.Contains($"packs: 1 that a damaged store did not take, in {Path.Combine(Backup, "packs-aside")}", backup.Output, StringComparison.Ordinal);
        // Another machine, which has set one aside of its own.
        var other = Path.Combine(_folder, "other");
        await SetAsideAsync(other, Noon.AddMinutes(-4), 62);
        for (var i = 0; i < 2; i++)
        {
            var restore = await RunAsync("restore", Backup, $"--Data:Folder={other}");
            Assert.True(restore.Exit == 0, restore.Error);
            Assert.Equal(i == 0, restore.Output.Contains("packs: 1 that were set aside, 2 wait now in ", StringComparison.Ordinal));
        }

        await using var server = await StartAsync(other, spots: []);
        var left = Path.Combine(other, "packs-aside");
        await Patience.UntilAsync(() => Directory.GetFiles(left).Length == 0, () => $"left: {string.Join(", ", Directory.GetFiles(left))}");
        var stored = await server.Get<IReadingStore>().RangeAsync(NorthGate.Id, Noon.AddHours(-1), Noon, Cancel);
        Assert.Equal([61, 62], stored.Select(one => one.Reading.SurfaceCelsius!.Value));
    }

    [Fact]
    public async Task Nothing_is_restored_beneath_a_running_server()
    {
        await AddSpotAsync();
        Assert.Equal(0, (await RunAsync("import", "readings", await FileAsync(1, 10), "--spot", "north-gate-plaza", Data)).Exit);
        Assert.Equal(0, (await RunAsync("backup", Backup, Data)).Exit);
        await using var server = await ServerProcess.ServeReadyAsync(DataFolder);

        var restore = await RunAsync("restore", Backup, Data);

        Assert.Equal((1, ""), (restore.Exit, restore.Output));
        Assert.Contains($"a server has it open already (process {server.Id})", restore.Error, StringComparison.Ordinal);
        Assert.Empty(Directory.GetDirectories(DataFolder, "before-restore-*"));
    }

    [Theory]
    [InlineData("readings.sqlite", 3, "readings.sqlite")]
    [InlineData("registry.sqlite", 3, "registry.sqlite")]
    [InlineData("registry.sqlite", 1, "file is not a database")]
    public async Task A_damaged_backup_is_named_and_touches_nothing(string file, int page, string says)
    {
        await AddSpotAsync();
        await ImportAsync(1, 1000);
        Assert.Equal(0, (await RunAsync("backup", Backup, Data)).Exit);
        await ImportAsync(1001, 1100);
        var before = await ExportAsync();
        Damage.Pages(Path.Combine(Backup, file), page, 2);

        var restore = await RunAsync("restore", Backup, Data);

        Assert.Equal((1, ""), (restore.Exit, restore.Output));
        Assert.Contains(says, restore.Error, StringComparison.Ordinal);
        Assert.Contains("Nothing was changed", restore.Error, StringComparison.Ordinal);
        Assert.Equal(before, await ExportAsync());
        Assert.Empty(Directory.GetFileSystemEntries(DataFolder, "*restor*"));
    }

    [Fact]
    public async Task A_folder_that_no_backup_made_is_refused()
    {
        await AddSpotAsync();
        var empty = Directory.CreateDirectory(Path.Combine(_folder, "empty")).FullName;
        var none = await RunAsync("restore", empty, Data);
        Assert.Equal((1, true), (none.Exit, none.Error.Contains("registry.sqlite is not there; expected a folder that backup made", StringComparison.Ordinal)));

        await ImportAsync(1, 10);
        Assert.Equal(0, (await RunAsync("backup", Backup, Data)).Exit);
        File.Copy(Path.Combine(Backup, "readings.sqlite"), Path.Combine(Backup, "registry.sqlite"), overwrite: true);
        var mixed = await RunAsync("restore", Backup, Data);
        Assert.Equal((1, true), (mixed.Exit, mixed.Error.Contains("is not a registry of this server", StringComparison.Ordinal)));
    }

    [Fact]
    public async Task A_restore_that_was_cut_off_must_be_run_again_before_a_server_starts()
    {
        await AddSpotAsync();
        await ImportAsync(1, 10);
        var before = await ExportAsync();
        Assert.Equal(0, (await RunAsync("backup", Backup, Data)).Exit);
        // As the power left it between two renames.
        await File.WriteAllTextAsync(Path.Combine(DataFolder, "restore.unfinished"), Backup, Cancel);
        File.Delete(Path.Combine(DataFolder, "readings.sqlite"));

        await using (var server = ServerProcess.Serve(DataFolder))
        {
            Assert.Equal(1, await server.ExitAsync());
            Assert.Contains($"a restore was cut off, and what is there is half old and half new; run it again: restore {Backup}", server.Said, StringComparison.Ordinal);
        }

        var fit = await RunAsync("fit", Data);
        Assert.Equal((1, true), (fit.Exit, fit.Error.Contains("a restore was cut off", StringComparison.Ordinal)));
        var restore = await RunAsync("restore", Backup, Data);
        Assert.True(restore.Exit == 0, restore.Error);
        Assert.Equal(before, await ExportAsync());
    }

    [Theory]
    [InlineData("readings", "registry")]
    [InlineData("registry", "readings")]
    public async Task A_backup_of_a_damaged_file_names_that_file_and_copies_the_other(string damaged, string whole)
    {
        await AddSpotAsync();
        await ImportAsync(1, 1000);
        Damage.Pages(Path.Combine(DataFolder, damaged + ".sqlite"), 3, 2);

        var backup = await RunAsync("backup", Backup, Data);

        Assert.Equal(1, backup.Exit);
        Assert.Contains($"backup: {damaged}: {Path.Combine(DataFolder, damaged + ".sqlite")} cannot be copied", backup.Error, StringComparison.Ordinal);
        Assert.Contains("restore FROM", backup.Error, StringComparison.Ordinal);
        Assert.False(File.Exists(Path.Combine(Backup, damaged + ".sqlite")));
        Assert.True(File.Exists(Path.Combine(Backup, whole + ".sqlite")));
    }

    /// <summary>A pack as a server with a damaged store leaves it.</summary>
    private static async Task<string> SetAsideAsync(string dataFolder, DateTimeOffset at, double celsius)
    {
        var folder = Directory.CreateDirectory(Path.Combine(dataFolder, "packs-aside")).FullName;
        var path = Path.Combine(folder, string.Create(CultureInfo.InvariantCulture, $"20260714T165900000Z_north-gate_{celsius}.json"));
        await File.WriteAllBytesAsync(path, ReadingPack.Write([Good(NorthGate, at, celsius)]), Cancel);
        return path;
    }

    /// <summary>A warning for a phone whose push service asks to be tried later.</summary>
    private static async Task PutOffAWarningAsync(RunningServer server, ReceiverHost service, int walker)
    {
        var (p256dh, auth) = service.Receiver.Add("phone");
        Assert.Empty(await server.Get<Subscriptions>().AddAsync(walker, service.Endpoint("phone"), p256dh, auth, [NorthGate.Id.Value], Cancel));
        service.AnswerNextWith(503);
        await server.Get<AlertStore>().RecordAsync(
            NorthGate,
            new AlertMemory { State = AlertState.TooHot, Since = Noon, LastGoodAt = Noon, LastGoodCelsius = 55, HeatSeenAt = Noon, HotReadings = 2, Hot = HotEpisode.Measured },
            new AlertDecision(AlertState.Clear, AlertState.TooHot, AlertReason.ReadingsOverLimit, Noon, Notify: true, 55) { LimitCelsius = 49 },
            Cancel);
        await service.NextAsync();
        await using var db = await server.Get<IDbContextFactory<RegistryDb>>().CreateDbContextAsync(Cancel);
        await Patience.UntilAsync(() => db.Notifications.AnyAsync(n => n.Attempts == 1, Cancel), () => "the warning is not put off");
    }

    private static DbCommand DatabaseCopyCheck(string path)
    {
        var command = Server.Store.DatabaseCopy.OpenForWriting(path).CreateCommand();
        command.CommandText = "PRAGMA integrity_check";
        return command;
    }

    private async Task AddSpotAsync() => Assert.Equal(0, (await RunAsync(
        "spot", "add", "north-gate-plaza", "--name", "A place", "--surface", "asphalt", "--latitude", "37.4", "--longitude", "-97",
        "--time-zone", "America/Chicago", Data)).Exit);

    private async Task ImportAsync(int first, int last)
    {
        var import = await RunAsync("import", "readings", await FileAsync(first, last), "--spot", "north-gate-plaza", Data);
        Assert.True(import.Exit == 0, import.Error);
        // What this process read would keep the file's neighbours in use.
        SqliteConnection.ClearAllPools();
    }

    private async Task<string> FileAsync(int first, int last)
    {
        var file = Path.Combine(_folder, "in.csv");
        var begin = new DateTimeOffset(2026, 7, 1, 0, 0, 0, TimeSpan.Zero);
        await File.WriteAllLinesAsync(
            file,
            Enumerable.Range(first, last - first + 1)
                .Select(minute => string.Create(CultureInfo.InvariantCulture, $"{begin.AddMinutes(minute):yyyy-MM-dd'T'HH:mm:ss'Z'},{30 + minute % 20},25"))
                .Prepend("time_utc,surface_celsius,air_celsius"),
            Cancel);
        return file;
    }

    private async Task<string> ExportAsync()
    {
        var export = await RunAsync("export", "readings", "--spot", "north-gate-plaza", Data);
        Assert.True(export.Exit == 0, export.Error);
        SqliteConnection.ClearAllPools();
        return export.Output;
    }

    private static async Task<(int Exit, string Output, string Error)> RunAsync(params string[] args)
    {
        using var output = new StringWriter();
        using var error = new StringWriter();
        var exit = await CommandLine.RunAsync(args, output, error);
        return (exit, output.ToString(), error.ToString());
    }
}
