using System.Collections.Concurrent;
using System.Globalization;
using Microsoft.Extensions.Options;
using PavementWatch.Core.Readings;
using PavementWatch.Core.Wire;
using PavementWatch.Server.Database;
using PavementWatch.Server.Faults;
using PavementWatch.Server.Store;

namespace PavementWatch.Server.Ingest;

/// <summary>Packs that a damaged store does not take: kept in a folder beside it, so that they hold up nobody. The next start stores them if it can.</summary>
/// <remarks>A full disk, or one that does not answer, is no reason: that passes, and until then the gateway keeps its packs.</remarks>
internal sealed class PackQuarantine(IOptions<StoreOptions> store, ServiceFaults faults, ILogger<PackQuarantine> logger) : IDisposable
{
    /// <summary>Fault of packs that wait here.</summary>
    public const string Fault = "store.aside";

    /// <summary>How often damage sends a pack of a gateway back before one is set aside.</summary>
    public const int Tries = 3;

    private const string TimeFormat = "yyyyMMdd'T'HHmmssfff'Z'";

    /// <summary>Its folder's name, in a backup too.</summary>
    public const string FolderName = "packs-aside";

    // What is being written; it gets its own name when it is on the disk.
    private const string Unfinished = ".next";

    private readonly ConcurrentDictionary<GatewayId, int> _failures = [];
    private readonly SemaphoreSlim _one = new(1);
    private int? _waiting;

    /// <summary>Where they are.</summary>
    public string Folder { get; } =
        Path.Combine(Path.GetDirectoryName(Path.GetFullPath(store.Value.Path)) ?? ".", FolderName);

    /// <summary>Counts a pack that damage keeps out.</summary>
    /// <returns>Whether it has been sent back often enough.</returns>
    public bool CountIsEnough(GatewayId gateway) => _failures.AddOrUpdate(gateway, 1, (_, count) => count + 1) >= Tries;

    /// <summary>Forgets the count: a pack of the gateway was stored.</summary>
    public void Forget(GatewayId gateway) => _failures.TryRemove(gateway, out _);

    /// <summary>Puts one aside; it is on the disk when this returns.</summary>
    /// <returns>Where it is; <c>null</c> where it could not be kept either.</returns>
    public async Task<string?> PutAsync(GatewayId gateway, DateTimeOffset receivedAt, ReadOnlyMemory<byte> payload)
    {
        var path = Path.Combine(
            Folder, string.Create(CultureInfo.InvariantCulture, $"{receivedAt.UtcDateTime.ToString(TimeFormat, CultureInfo.InvariantCulture)}_{gateway}_{Guid.NewGuid():N}.json"));
        await _one.WaitAsync();
        try
        {
            var before = Waiting_NeedsLock;
            Directory.CreateDirectory(Folder);
            await using (var file = new FileStream(path + Unfinished, FileMode.CreateNew, FileAccess.Write))
            {
                await file.WriteAsync(payload);
                file.Flush(flushToDisk: true);
            }

            File.Move(path + Unfinished, path);
            _waiting = before + 1;
            Tell_NeedsLock();
        }
        catch (Exception failure) when (failure is IOException or UnauthorizedAccessException)
        {
            Log.NotSetAside(logger, gateway, path, failure.Message);
            return null;
        }
        finally
        {
            _one.Release();
        }

        Forget(gateway);
        return path;
    }

    /// <summary>Takes what a cut supply left between the disk and its name: a whole pack waits with the others, half of one is removed.</summary>
    /// <remarks>Its gateway had no answer and sends it again either way.</remarks>
    public async Task RecoverAsync(CancellationToken cancellationToken)
    {
        await _one.WaitAsync(cancellationToken);
        try
        {
            if (!Directory.Exists(Folder))
                return;
            foreach (var path in Directory.GetFiles(Folder, "*.json" + Unfinished).Order(StringComparer.Ordinal))
                await RecoverAsync(path, cancellationToken);
            _waiting = All().Count;
        }
        finally
        {
            _one.Release();
        }
    }

    private async Task RecoverAsync(string path, CancellationToken cancellationToken)
    {
        var name = path[..^Unfinished.Length];
        try
        {
            var payload = await File.ReadAllBytesAsync(path, cancellationToken);
            if (Read(name) is { } pack && ReadingPack.Read(payload, pack.ReceivedAt) is ReadingPackOutcome.Parsed)
            {
                File.Move(path, name);
                Log.AsideRecovered(logger, name);
                return;
            }

            File.Delete(path);
            Log.AsideCut(logger, path, payload.Length);
        }
        catch (Exception failure) when (failure is IOException or UnauthorizedAccessException)
        {
            Log.AsideNotStored(logger, path, failure.Message);
        }
    }

    /// <summary>Removes one that is stored.</summary>
    public async Task RemoveAsync(AsidePack pack)
    {
        await _one.WaitAsync();
        try
        {
            var before = Waiting_NeedsLock;
            File.Delete(pack.Path);
            _waiting = before - 1;
        }
        finally
        {
            _one.Release();
        }
    }

    /// <summary>All that wait, the oldest first.</summary>
    public IReadOnlyList<AsidePack> All()
    {
        if (!Directory.Exists(Folder))
            return [];
        return [.. Directory.EnumerateFiles(Folder, "*.json").Order(StringComparer.Ordinal).Select(Read).OfType<AsidePack>()];
    }

    /// <summary>Copies those that a folder holds to another, where they are not yet; what a server stores meanwhile is no loss.</summary>
    /// <param name="from">A quarantine's folder, or its copy; may be missing.</param>
    /// <param name="to">Made where there is something to copy.</param>
    /// <returns>How many are there now that were not there before.</returns>
    public static int Copy(string from, string to)
    {
        var copied = 0;
        foreach (var path in Directory.Exists(from) ? Directory.GetFiles(from, "*.json") : [])
        {
            var copy = Path.Combine(to, Path.GetFileName(path));
            if (File.Exists(copy))
                continue;
            PrivateFiles.MakeFolder(to);
            try
            {
                // As when one is set aside: what is cut off is known by its name.
                File.Copy(path, copy + Unfinished, overwrite: true);
            }
            catch (FileNotFoundException)
            {
                continue;
            }

            PrivateFiles.OnlyOwner(copy + Unfinished);
            File.Move(copy + Unfinished, copy);
            copied++;
        }

        return copied;
    }

    /// <summary>Raises or ends the fault, as some wait or none do.</summary>
    public async Task TellAsync()
    {
        await _one.WaitAsync();
        try
        {
            Tell_NeedsLock();
        }
        finally
        {
            _one.Release();
        }
    }

    public void Dispose() => _one.Dispose();

    // Counted once: where thousands wait, each that joins them must not read the folder again.
    private int Waiting_NeedsLock => _waiting ??= All().Count;

    private void Tell_NeedsLock()
    {
        if (Waiting_NeedsLock is > 0 and var waiting)
            faults.Raise(Fault, $"{waiting} packs of readings that the damaged store did not take are set aside in {Folder}; stop the server, put the last backup in the store's place (restore FROM) and start it: they are stored then");
        else
            faults.End(Fault);
    }

    private static AsidePack? Read(string path) =>
        Path.GetFileName(path).Split('_') is [var time, var name, _]
        && DateTimeOffset.TryParseExact(
            time, TimeFormat, CultureInfo.InvariantCulture, DateTimeStyles.AssumeUniversal | DateTimeStyles.AdjustToUniversal, out var receivedAt)
        && GatewayId.TryParse(name, out var gateway)
            ? new AsidePack(path, gateway, receivedAt)
            : null;
}

/// <summary>A pack that was set aside.</summary>
/// <param name="Path">Its file, which holds it in the wire's form.</param>
/// <param name="Gateway">Who sent it.</param>
/// <param name="ReceivedAt">When it came, UTC; its relative times count from there.</param>
internal sealed record AsidePack(string Path, GatewayId Gateway, DateTimeOffset ReceivedAt);
