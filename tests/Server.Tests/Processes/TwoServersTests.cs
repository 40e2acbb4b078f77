using Microsoft.Data.Sqlite;
using Microsoft.EntityFrameworkCore;
using Microsoft.Extensions.DependencyInjection;
using Microsoft.Extensions.Hosting;
using PavementWatch.Core.Alerts;
using PavementWatch.Server.Database;
using PavementWatch.Server.Hosting;
using PavementWatch.Server.Notifications;
using PavementWatch.Server.Setup;
using PavementWatch.Server.Tests.Api;

namespace PavementWatch.Server.Tests.Processes;

/// <summary>A second server on what a first one has: it ends, says why, and has done nothing.</summary>
public sealed class TwoServersTests : IDisposable
{
    private readonly string _folder = Directory.CreateTempSubdirectory("pw-two-").FullName;

    private static CancellationToken Cancel => TestContext.Current.CancellationToken;

    public void Dispose()
    {
        SqliteConnection.ClearAllPools();
        Directory.Delete(_folder, recursive: true);
    }

    [Fact]
    public async Task A_second_server_on_the_same_data_folder_ends_and_names_the_folder_and_the_first()
    {
        var data = Path.Combine(_folder, "data");
        await using var first = await ServerProcess.ServeReadyAsync(data);
        await using var second = ServerProcess.Serve(data);

        Assert.Equal(1, await second.ExitAsync());
        Assert.Contains($"data folder {data}: a server has it open already (process {first.Id})", second.Said, StringComparison.Ordinal);
        Assert.DoesNotContain("listens on", second.Said, StringComparison.Ordinal);
        Assert.False(first.HasExited);
    }

    [Fact]
    public async Task A_server_that_was_killed_leaves_the_folder_to_the_next()
    {
        var data = Path.Combine(_folder, "data");
        await using (var first = await ServerProcess.ServeReadyAsync(data))
            await first.KillAsync();

        await using var next = await ServerProcess.ServeReadyAsync(data);
        Assert.False(next.HasExited);
    }

    [Fact]
    public async Task Two_data_folders_with_readings_in_one_place_are_two_servers_on_one_store()
    {
        var store = $"--Store:Path={Path.Combine(_folder, "readings", "readings.sqlite")}";
        await using var first = await ServerProcess.ServeReadyAsync(Path.Combine(_folder, "one"), store);
        await using var second = ServerProcess.Serve(Path.Combine(_folder, "other"), store);

        Assert.Equal(1, await second.ExitAsync());
        Assert.Contains($"data folder {Path.Combine(_folder, "readings")}: a server has it open already", second.Said, StringComparison.Ordinal);
    }

    [Fact]
    public async Task The_operators_commands_run_beside_a_server()
    {
        var data = Path.Combine(_folder, "data");
        await using var server = await ServerProcess.ServeReadyAsync(data);
        await using var verb = ServerProcess.Start("user", "add", "Ines", "--role", "walker", $"--Data:Folder={data}");

        Assert.True(await verb.ExitAsync() == 0, verb.Said);
    }

    [Theory]
    [InlineData("--Urls=http://127.0.0.1:{0}", "pages: Failed to bind")]
    [InlineData("--Broker:Port={1}", "the broker cannot listen on")]
    public async Task A_second_server_on_the_same_port_ends_before_it_touches_its_outbox(string port, string says)
    {
        await using var first = await ServerProcess.ServeReadyAsync(Path.Combine(_folder, "first"));
        var data = Path.Combine(_folder, "second");
        await PutAsync(data);
        await using var second = ServerProcess.Serve(
            data, string.Format(System.Globalization.CultureInfo.InvariantCulture, port, first.Address.Port, first.BrokerPort));

        Assert.Equal(1, await second.ExitAsync());
        Assert.Contains(says, second.Said, StringComparison.Ordinal);
        // One sentence, and no stack of calls.
        Assert.DoesNotContain("   at ", second.Said, StringComparison.Ordinal);
        Assert.DoesNotContain("Exception", second.Said, StringComparison.Ordinal);
        var waiting = await WithRegistryAsync(data, (db, _) => db.Notifications.SingleAsync(Cancel));
        Assert.Equal((NotificationStanding.Waiting, 0), (waiting.Standing, waiting.Attempts));
    }

    [Fact]
    public void Whatever_works_by_itself_waits_until_the_ports_are_bound() =>
        Assert.DoesNotContain(
            typeof(ServerBackgroundService).Assembly.GetTypes(),
            t => t.IsSubclassOf(typeof(BackgroundService)) && t != typeof(ServerBackgroundService) && !t.IsSubclassOf(typeof(ServerBackgroundService)));

    /// <summary>A push to a device that is forgotten already: the first look at the outbox marks it failed.</summary>
    private static Task<int> PutAsync(string data) => WithRegistryAsync(data, async (db, book) =>
    {
        await book.AddSpotAsync(RunningServer.NorthGate, Cancel);
        var now = TimeProvider.System.GetUtcNow();
        db.AlertEvents.Add(new AlertEventRow
        {
            Id = 1,
            SpotId = RunningServer.NorthGate.Id.Value,
            From = AlertState.Clear,
            To = AlertState.TooHot,
            Because = AlertReason.ReadingsOverLimit,
            Side = AlertSide.Heat,
            At = now,
            LimitCelsius = 49,
            Notified = true,
        });
        db.Notifications.Add(new NotificationRow
        {
            Id = Guid.CreateVersion7(now),
            EventId = 1,
            PersonId = 1,
            SubscriptionId = 1,
            SpotId = RunningServer.NorthGate.Id.Value,
            Side = AlertSide.Heat,
            Payload = "{}",
            CreatedAt = now,
            ExpiresAt = now.AddDays(1),
            NextAttemptAt = now,
        });
        return await db.SaveChangesAsync(Cancel);
    });

    private static async Task<T> WithRegistryAsync<T>(string data, Func<RegistryDb, SpotStore, Task<T>> use)
    {
        await using var app = ServerApp.Build(new ServerAppOptions { DataFolder = data });
        await app.Services.GetRequiredService<RegistryStart>().StartingAsync(Cancel);
        await using var db = await app.Services.GetRequiredService<IDbContextFactory<RegistryDb>>().CreateDbContextAsync(Cancel);
        return await use(db, app.Services.GetRequiredService<SpotStore>());
    }
}
