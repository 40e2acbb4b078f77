using Microsoft.Data.Sqlite;
using Microsoft.EntityFrameworkCore;
using Microsoft.Extensions.DependencyInjection;
using PavementWatch.Server.Commands;
using PavementWatch.Server.Database;
using PavementWatch.Server.Hosting;
using PavementWatch.Server.Store;

namespace PavementWatch.Server.Tests.Database;

/// <summary>Tables of an earlier server are copied before they are changed; those of a later one are left alone.</summary>
public sealed class RegistryEditionTests : IDisposable
{
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
        var before = await MakeAsync();
        Directory.CreateDirectory(Copies);
        foreach (var older in new[] { "20250101000000_A", "20250201000000_B", "20250301000000_C" })
            await File.WriteAllTextAsync(Path.Combine(Copies, $"registry-{older}.sqlite"), "", Cancel);

        await StartNextAsync();

        Assert.Equal(
            ["registry-20250201000000_B.sqlite", "registry-20250301000000_C.sqlite", $"registry-{before}.sqlite"],
            Directory.GetFiles(Copies).Select(Path.GetFileName).Order(StringComparer.Ordinal));
        Assert.Equal(before, await LastAsync(Path.Combine(Copies, $"registry-{before}.sqlite")));
        Assert.Equal(NextEdition.Name, await LastAsync(Path.Combine(_folder, "registry.sqlite")));
        // Once is enough: nothing is left to change.
        File.Delete(Path.Combine(Copies, $"registry-{before}.sqlite"));
        await StartNextAsync();
        Assert.Equal(2, Directory.GetFiles(Copies).Length);
        // And this server is the older one now.
        var (exit, _, error) = await RunAsync("fit");
        Assert.Equal((1, true), (exit, error.Contains($"has tables of a newer server ({NextEdition.Name})", StringComparison.Ordinal)));
    }

    [Fact]
    public async Task Tables_do_not_change_beneath_a_running_server()
    {
        var before = await MakeAsync();
        await using var server = ServerApp.Build(new ServerAppOptions { DataFolder = _folder });
        _ = server.Services.GetRequiredService<DataFolderLock>();

        var refused = await Assert.ThrowsAsync<IOException>(StartNextAsync);

        Assert.Contains($"a server has it open already (process {Environment.ProcessId})", refused.Message, StringComparison.Ordinal);
        Assert.Equal(before, await LastAsync(Path.Combine(_folder, "registry.sqlite")));
        Assert.False(Directory.Exists(Copies));
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

    /// <summary>A registry of this edition.</summary>
    /// <returns>Its last migration.</returns>
    private async Task<string> MakeAsync()
    {
        Assert.Equal(0, (await RunAsync("fit")).Exit);
        return await LastAsync(Path.Combine(_folder, "registry.sqlite"));
    }

    /// <summary>Starts on it what the next edition of the server will be, as far as its tables.</summary>
    private async Task StartNextAsync()
    {
        await using (var next = ServerApp.Build(new ServerAppOptions { DataFolder = _folder, Services = NextEdition.Add }))
            await next.Services.GetRequiredService<RegistryStart>().StartingAsync(Cancel);
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
