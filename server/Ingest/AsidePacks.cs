using System.Collections.Concurrent;
using System.Globalization;
using Microsoft.Extensions.Options;
using PavementWatch.Core.Readings;
using PavementWatch.Server.Faults;
using PavementWatch.Server.Store;

namespace PavementWatch.Server.Ingest;

/// <summary>Packs that a damaged store does not take: kept in a folder beside it, so that they hold up nobody. The next start stores them if it can.</summary>
/// <remarks>A full disk, or one that does not answer, is no reason: that passes, and until then the gateway keeps its packs.</remarks>
internal sealed class AsidePacks(IOptions<StoreOptions> store, ServiceFaults faults, ILogger<AsidePacks> logger)
{
    /// <summary>Fault of packs that wait here.</summary>
    public const string Fault = "store.aside";

    /// <summary>How often damage sends a pack of a gateway back before one is set aside.</summary>
    public const int Tries = 3;

    private const string TimeFormat = "yyyyMMdd'T'HHmmssfff'Z'";

    private readonly ConcurrentDictionary<GatewayId, int> _failures = [];

    /// <summary>Where they are.</summary>
    public string Folder { get; } =
        Path.Combine(Path.GetDirectoryName(Path.GetFullPath(store.Value.Path)) ?? ".", "packs-aside");

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
        try
        {
            Directory.CreateDirectory(Folder);
            await using (var file = new FileStream(path + ".next", FileMode.CreateNew, FileAccess.Write))
            {
                await file.WriteAsync(payload);
                file.Flush(flushToDisk: true);
            }

            File.Move(path + ".next", path);
        }
        catch (Exception failure) when (failure is IOException or UnauthorizedAccessException)
        {
            Log.NotSetAside(logger, gateway, path, failure.Message);
            return null;
        }

        Forget(gateway);
        Tell();
        return path;
    }

    /// <summary>All that wait, the oldest first.</summary>
    public IReadOnlyList<AsidePack> All()
    {
        if (!Directory.Exists(Folder))
            return [];
        var packs = new List<AsidePack>();
        foreach (var path in Directory.EnumerateFiles(Folder, "*.json").Order(StringComparer.Ordinal))
        {
            if (Path.GetFileName(path).Split('_') is [var time, var name, _]
                && DateTimeOffset.TryParseExact(
                    time, TimeFormat, CultureInfo.InvariantCulture, DateTimeStyles.AssumeUniversal | DateTimeStyles.AdjustToUniversal, out var receivedAt)
                && GatewayId.TryParse(name, out var gateway))
            {
                packs.Add(new AsidePack(path, gateway, receivedAt));
            }
        }

        return packs;
    }

    /// <summary>Raises or ends the fault, as some wait or none do.</summary>
    public void Tell()
    {
        if (All() is { Count: > 0 } waiting)
            faults.Raise(Fault, $"{waiting.Count} packs of readings that the damaged store did not take are set aside in {Folder}; stop the server, put the last backup in the store's place (restore FROM) and start it: they are stored then");
        else
            faults.End(Fault);
    }
}

/// <summary>A pack that was set aside.</summary>
/// <param name="Path">Its file, which holds it in the wire's form.</param>
/// <param name="Gateway">Who sent it.</param>
/// <param name="ReceivedAt">When it came, UTC; its relative times count from there.</param>
internal sealed record AsidePack(string Path, GatewayId Gateway, DateTimeOffset ReceivedAt);
