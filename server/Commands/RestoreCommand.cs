using System.CommandLine;
using System.Data.Common;
using System.Globalization;
using Microsoft.EntityFrameworkCore;
using Microsoft.Extensions.Options;
using PavementWatch.Server.Broker;
using PavementWatch.Server.Database;
using PavementWatch.Server.Ingest;
using PavementWatch.Server.Store;

namespace PavementWatch.Server.Commands;

/// <summary>Puts a backup in the place of what the server keeps.</summary>
/// <remarks>
/// All of the backup is copied beside the present files and read from end to end before any of those is touched; they are then
/// set aside, not removed. What the database left beside the old files goes with them: it would be written into the new ones. In the copy
/// of the registry everything that time has overtaken is ended before a server can act on it (<see cref="RestoredRegistry"/>).
/// </remarks>
internal static class RestoreCommand
{
    private const string New = ".restoring";

    public static void AddTo(RootCommand root)
    {
        var from = new Argument<string>("FROM") { Description = "Folder that backup made." };
        var restore = new Command(
            "restore",
            "Put a backup in the place of what the server keeps. Stop the server first; run it as the user the server runs as. What was there is set aside in the data folder. Everybody is signed out, unused links and codes end, and what waited to be sent is not sent.")
        {
            from,
        };
        Settings.AddTo(restore);
        restore.SetAction(async (parsed, cancellationToken) =>
        {
            await using var app = ServerParts.Build(parsed);
            return await RunAsync(app.Services, parsed, Path.GetFullPath(parsed.GetRequiredValue(from)), cancellationToken);
        });
        root.Subcommands.Add(restore);
    }

    private static async Task<int> RunAsync(
        IServiceProvider services, ParseResult parsed, string from, CancellationToken cancellationToken)
    {
        var (output, error) = (parsed.InvocationConfiguration.Output, parsed.InvocationConfiguration.Error);
        var folder = services.GetRequiredService<DataFolder>();
        // Refuses while a server runs, and keeps one from starting meanwhile.
        _ = services.GetRequiredService<DataFolderLock>();
        var files = Files(services, from);
        foreach (var file in files.Where(f => !File.Exists(f.From)))
        {
            await error.WriteLineAsync($"restore: {file.From} is not there; expected a folder that backup made. Nothing was changed");
            return CommandLine.Failed;
        }

        if (files.Count == 1)
            await error.WriteLineAsync("restore: the readings are in InfluxDB; bring them back with its own restore");
        var folders = Folders(services, from);
        try
        {
            foreach (var file in files)
            {
                await error.WriteLineAsync($"restore: reading {file.From} ...");
                file.Holds = await PrepareAsync(file, cancellationToken);
            }

            foreach (var (source, target) in folders)
            {
                if (Directory.Exists(target + New))
                    Directory.Delete(target + New, recursive: true);
                PrivateFiles.CopyFolder(source, target + New);
            }
        }
        catch (Exception failure) when (failure is DbException or IOException or OperationCanceledException)
        {
            foreach (var file in files)
                DatabaseCopy.Remove(file.To + New);
            foreach (var (_, target) in folders.Where(f => Directory.Exists(f.To + New)))
                Directory.Delete(target + New, recursive: true);
            var why = failure is DbException e ? DatabaseFaults.Words(e) : failure.Message;
            await error.WriteLineAsync($"restore: {why.TrimEnd('.')}. Nothing was changed");
            return CommandLine.Failed;
        }

        var asideName = AsideName(folder, services.GetRequiredService<TimeProvider>().GetUtcNow());
        folder.BeginRestore(from);
        foreach (var file in files)
        {
            SetAside(file.To, asideName);
            File.Move(file.To + New, file.To);
        }

        foreach (var (_, target) in folders)
        {
            SetAside(target, asideName);
            Directory.Move(target + New, target);
        }

        foreach (var file in files)
        {
            await using var connection = DatabaseCopy.OpenForReading(file.To);
            var holds = await file.TellAsync(connection, cancellationToken);
            if (holds != file.Holds)
                throw new IOException($"restore: {file.To} holds {holds}, expected {file.Holds}; look at the disk and run it again");
            await output.WriteLineAsync($"{file.What}: {holds}");
        }

        foreach (var (source, target) in folders)
            await output.WriteLineAsync($"{Path.GetFileName(source)}: {Directory.EnumerateFiles(target).Count()} files");
        // Added to those that wait here: of a pack that is there twice the store keeps one.
        var packs = services.GetRequiredService<PackQuarantine>();
        if (PackQuarantine.Copy(Path.Combine(from, PackQuarantine.FolderName), packs.Folder) is > 0 and var added)
            await output.WriteLineAsync(string.Create(CultureInfo.InvariantCulture, $"packs: {added} that were set aside, {packs.All().Count} wait now in {packs.Folder}; the next start stores them"));
        foreach (var line in files.SelectMany(file => file.Ended))
            await output.WriteLineAsync(line);
        folder.EndRestore();
        await output.WriteLineAsync($"what was there before is in {folder.File(asideName)}; remove it when all is well. Now start the server.");
        return CommandLine.Done;
    }

    private static List<Restored> Files(IServiceProvider services, string from)
    {
        var folder = services.GetRequiredService<DataFolder>();
        var store = services.GetRequiredService<IOptions<StoreOptions>>().Value;
        var registry = services.GetRequiredService<IDbContextFactory<RegistryDb>>();
        var options = services.GetRequiredService<DbContextOptions<RegistryDb>>();
        var time = services.GetRequiredService<TimeProvider>();
        List<Restored> files =
        [
            new(
                "registry", Path.Combine(from, "registry.sqlite"), folder.File("registry.sqlite"),
                async (connection, token) =>
                {
                    await using var db = await registry.CreateDbContextAsync(token);
                    return await RegistryEdition.TellAsync(connection, db, token);
                },
                (connection, token) => RestoredRegistry.EndWhatIsOverAsync(connection, options, time.GetUtcNow(), token)),
        ];
        if (store.Kind == StoreKind.Sqlite)
        {
            files.Add(new Restored(
                "readings", Path.Combine(from, "readings.sqlite"), Path.GetFullPath(store.Path), SqliteFile.TellAsync, (_, _) => Task.FromResult<IReadOnlyList<string>>([])));
        }

        return files;
    }

    private static List<(string From, string To)> Folders(IServiceProvider services, string from) =>
    [
        .. new (string From, string To)[]
        {
            (Path.Combine(from, "keys"), services.GetRequiredService<DataFolder>().File("keys")),
            (Path.Combine(from, "tls"), services.GetRequiredService<OwnAuthority>().Folder),
        }.Where(f => Directory.Exists(f.From)),
    ];

    /// <summary>Copies a file beside the present one, reads all of it, ends in it what is over, and leaves it without neighbours, on the disk.</summary>
    private static async Task<string> PrepareAsync(Restored file, CancellationToken cancellationToken)
    {
        var copy = file.To + New;
        DatabaseCopy.Remove(copy);
        Directory.CreateDirectory(Path.GetDirectoryName(copy)!);
        File.Copy(file.From, copy);
        PrivateFiles.OnlyOwner(copy);
        // Of a folder that was copied by hand after a crash, the newest commits stand here.
        if (File.Exists(file.From + "-wal"))
            File.Copy(file.From + "-wal", copy + "-wal");
        string holds;
        await using (var connection = DatabaseCopy.OpenForWriting(copy))
        {
            try
            {
                await DatabaseCopy.CheckAsync(connection, file.From, cancellationToken);
                holds = await file.TellAsync(connection, cancellationToken);
                file.Ended = await file.EndAsync(connection, cancellationToken);
            }
            catch (DbException damaged) when (DatabaseFaults.KindOf(damaged) != StoreFault.Full)
            {
                throw new IOException($"{file.From} cannot be read: {damaged.Message}; take an older backup", damaged);
            }
            catch (IOException wrong)
            {
                // Said of the copy, meant of the backup.
                throw new IOException(wrong.Message.Replace(copy, file.From, StringComparison.Ordinal), wrong);
            }

            await DatabaseCopy.MergeAsync(connection, cancellationToken);
        }

        await DatabaseCopy.FlushAsync(copy, cancellationToken);
        return holds;
    }

    /// <summary>A folder for what was there before, which nothing is in yet: two restores in one second keep theirs apart.</summary>
    private static string AsideName(DataFolder folder, DateTimeOffset now)
    {
        var name = string.Create(CultureInfo.InvariantCulture, $"before-restore-{now:yyyyMMdd'T'HHmmss'Z'}");
        var free = name;
        for (var number = 2; Directory.Exists(folder.File(free)); number++)
            free = string.Create(CultureInfo.InvariantCulture, $"{name}-{number}");
        return free;
    }

    private static void SetAside(string path, string asideName)
    {
        var aside = Path.Combine(Path.GetDirectoryName(path)!, asideName);
        if (OperatingSystem.IsWindows())
            Directory.CreateDirectory(aside);
        else
            Directory.CreateDirectory(aside, UnixFileMode.UserRead | UnixFileMode.UserWrite | UnixFileMode.UserExecute);
        if (Directory.Exists(path))
            Directory.Move(path, Path.Combine(aside, Path.GetFileName(path)));
        // The file last: without its neighbours it is not what it was.
        foreach (var file in DatabaseCopy.Neighbours.Select(n => path + n).Append(path).Where(File.Exists))
            File.Move(file, Path.Combine(aside, Path.GetFileName(file)));
    }

    /// <summary>A file to bring back.</summary>
    /// <param name="What">What people call it.</param>
    /// <param name="From">In the backup.</param>
    /// <param name="To">The server's.</param>
    /// <param name="TellAsync">Says what one holds; throws where this server cannot use it.</param>
    /// <param name="EndAsync">Ends in the copy what is no longer true, and says what.</param>
    private sealed record Restored(
        string What, string From, string To, Func<DbConnection, CancellationToken, Task<string>> TellAsync,
        Func<DbConnection, CancellationToken, Task<IReadOnlyList<string>>> EndAsync)
    {
        /// <summary>What was ended in the copy, for people.</summary>
        public IReadOnlyList<string> Ended { get; set; } = [];

        /// <summary>What the backup holds.</summary>
        public string Holds { get; set; } = "";
    }
}
