using System.CommandLine;
using System.Globalization;
using Microsoft.Extensions.Options;
using PavementWatch.Server.Broker;
using PavementWatch.Server.Database;
using PavementWatch.Server.Ingest;
using PavementWatch.Server.Store;

namespace PavementWatch.Server.Commands;

/// <summary>Copies everything the server keeps, while it runs.</summary>
internal static class BackupCommand
{
    public static void AddTo(RootCommand root)
    {
        var to = new Argument<string>("TO") { Description = "New or empty folder for the copy." };
        var backup = new Command(
            "backup",
            "Copy the registry, the readings, the packs that were set aside and the keys, also while the server runs. The copy comes back with: restore. Do not put single files back by hand: what the server left beside the old ones would be written into them.")
        {
            to,
        };
        Settings.AddTo(backup);
        // Not through the registry's start: what is damaged is named below, and nothing is changed before it is copied.
        backup.SetAction(async (parsed, cancellationToken) =>
        {
            await using var app = ServerParts.Build(parsed);
            return await RunAsync(app.Services, parsed, parsed.GetRequiredValue(to), cancellationToken);
        });
        root.Subcommands.Add(backup);
    }

    private static async Task<int> RunAsync(
        IServiceProvider services, ParseResult parsed, string to, CancellationToken cancellationToken)
    {
        var (output, error) = (parsed.InvocationConfiguration.Output, parsed.InvocationConfiguration.Error);
        if (Directory.Exists(to) && Directory.EnumerateFileSystemEntries(to).Any())
        {
            await error.WriteLineAsync($"backup: {Path.GetFullPath(to)} is not empty; name a new folder so that no older backup is spoilt");
            return CommandLine.Failed;
        }

        var folder = services.GetRequiredService<DataFolder>();
        var store = services.GetRequiredService<IOptions<StoreOptions>>().Value;
        if (OperatingSystem.IsWindows())
            Directory.CreateDirectory(to);
        else
            Directory.CreateDirectory(to, UnixFileMode.UserRead | UnixFileMode.UserWrite | UnixFileMode.UserExecute);
        var files = new List<(string What, string From, string Name)> { ("registry", folder.File("registry.sqlite"), "registry.sqlite") };
        if (store.Kind == StoreKind.Sqlite)
            files.Add(("readings", store.Path, "readings.sqlite"));
        else
            await error.WriteLineAsync("backup: the readings are in InfluxDB and not part of this copy; use its own backup");
        // Before the readings: what the server stores meanwhile is in either.
        var whole = await CopyPacksAsync(services.GetRequiredService<PackQuarantine>().Folder, Path.Combine(to, PackQuarantine.FolderName), output, error);
        foreach (var (what, from, name) in files.Where(f => File.Exists(f.From)))
        {
            await error.WriteLineAsync($"backup: {what} ...");
            var copy = Path.Combine(to, name);
            try
            {
                await DatabaseCopy.MakeAsync(from, copy, cancellationToken);
                await output.WriteLineAsync($"{what}: {copy}, {new FileInfo(copy).Length:N0} B");
            }
            catch (IOException failure)
            {
                // The rest is copied all the more.
                whole = false;
                await error.WriteLineAsync($"backup: {what}: {failure.Message}");
            }
        }

        PrivateFiles.CopyFolder(folder.File("keys"), Path.Combine(to, "keys"));
        await output.WriteLineAsync($"keys: {Path.Combine(to, "keys")}; whoever has them can make sign-ins, keep them as safe as the server");
        var authority = services.GetRequiredService<OwnAuthority>().Folder;
        if (Directory.Exists(authority))
        {
            PrivateFiles.CopyFolder(authority, Path.Combine(to, "tls"));
            await output.WriteLineAsync($"tls: {Path.Combine(to, "tls")}; without it every gateway must be enrolled again, and whoever has it can pass for this server");
        }

        if (!whole)
            await error.WriteLineAsync("backup: not whole; keep the backups you have");
        return whole ? CommandLine.Done : CommandLine.Failed;
    }

    // Their gateways have deleted them: they are nowhere else.
    private static async Task<bool> CopyPacksAsync(string from, string to, TextWriter output, TextWriter error)
    {
        try
        {
            if (PackQuarantine.Copy(from, to) is > 0 and var packs)
                await output.WriteLineAsync(string.Create(CultureInfo.InvariantCulture, $"packs: {packs} that a damaged store did not take, in {to}; the start after a restore stores them"));
            return true;
        }
        catch (Exception failure) when (failure is IOException or UnauthorizedAccessException)
        {
            await error.WriteLineAsync($"backup: packs that were set aside: {failure.Message}");
            return false;
        }
    }
}
