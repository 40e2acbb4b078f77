using System.Buffers.Text;
using System.Security.Cryptography;
using System.Text;
using Microsoft.EntityFrameworkCore;
using PavementWatch.Core.Readings;
using PavementWatch.Server.Database;
using PavementWatch.Server.Devices;
using PavementWatch.Server.Spots;

namespace PavementWatch.Server.Notifications.WebPush;

/// <summary>The devices that want pushes, and which spots each follows.</summary>
internal sealed class Subscriptions(
    IDbContextFactory<RegistryDb> registry, PushHosts hosts, SpotCatalogue catalogue, TimeProvider time)
{
    /// <summary>Devices of one person at most; the oldest goes first.</summary>
    public const int MostDevices = 10;

    private const string TakenByOther =
        "this device is registered to somebody else, and its secret is not the one it was registered with; switch alerts off and on again in this browser";

    /// <summary>Keeps a device and, where spots are given, makes them the ones it follows.</summary>
    /// <returns>Fields at fault and why; empty when it was kept.</returns>
    public Task<IReadOnlyDictionary<string, string[]>> AddAsync(
        int personId, string endpoint, string p256dh, string auth, IReadOnlyList<string>? spots, CancellationToken cancellationToken) =>
        AddAsync(personId, endpoint, p256dh, auth, spots, RememberedFollows.None, cancellationToken);

    /// <summary>Keeps a device. One that is not known here any more, or by another address, follows what its browser remembers and what it followed by that: nobody may think to be told and not be.</summary>
    /// <returns>Fields at fault and why; empty when it was kept.</returns>
    public async Task<IReadOnlyDictionary<string, string[]>> AddAsync(
        int personId, string endpoint, string p256dh, string auth, IReadOnlyList<string>? spots, RememberedFollows remembered,
        CancellationToken cancellationToken)
    {
        var faults = Faults(endpoint, p256dh, auth, spots);
        if (faults.Count > 0)
            return faults;
        await using var db = await registry.CreateDbContextAsync(cancellationToken);
        var row = await db.PushSubscriptions.Include(s => s.Follows)
            .SingleOrDefaultAsync(s => s.Endpoint == endpoint, cancellationToken);
        var isNew = row is null;
        if (row is null)
        {
            await MakeRoomAsync(db, personId, cancellationToken);
            db.PushSubscriptions.Add(row = new PushSubscriptionRow
            {
                PersonId = personId,
                Endpoint = endpoint,
                P256dh = p256dh,
                Auth = auth,
                CreatedAt = time.GetUtcNow(),
            });
        }

        // The same browser may serve another person next; the device follows whoever signed in last. Only the browser knows the
        // secret it registered with: an address somebody else has read somewhere does not take their device away.
        if (row.PersonId != personId)
        {
            if (!CryptographicOperations.FixedTimeEquals(Encoding.ASCII.GetBytes(row.Auth), Encoding.ASCII.GetBytes(auth)))
                return new Dictionary<string, string[]> { ["keys.auth"] = [TakenByOther] };
            row.Follows.Clear();
        }

        // A visit does not make a push service take what it refused; other keys may.
        if ((row.P256dh, row.Auth) != (p256dh, auth))
            row.ForbiddenSince = null;
        row.PersonId = personId;
        row.P256dh = p256dh;
        row.Auth = auth;
        row.ForbiddenInARow = 0;
        if (row.GoneAt is not null)
            (row.GoneAt, row.ForbiddenSince) = (null, null);
        // What a phone remembers of another address than this counts, too: its browser may have shown this one here by itself.
        if (isNew || (remembered.Replaces is { } old && old != endpoint))
        {
            var followed = await RememberedAsync(db, row, isNew, remembered, cancellationToken);
            spots ??= [.. row.Follows.Select(f => f.SpotId), .. followed];
        }

        if (spots is not null)
            Follow(row, spots);
        await db.SaveChangesAsync(cancellationToken);
        // A device shows itself on each visit: it is back.
        await LapsedMessages.ExpireAsync(db, row.Id, time.GetUtcNow(), cancellationToken);
        return faults;
    }

    /// <summary>Whether the push service gave up this address of the person: the phone should ask for another.</summary>
    public async Task<bool> IsGoneAsync(int personId, string endpoint, CancellationToken cancellationToken)
    {
        await using var db = await registry.CreateDbContextAsync(cancellationToken);
        return await db.PushSubscriptions.AnyAsync(s => s.Endpoint == endpoint && s.PersonId == personId && s.GoneAt != null, cancellationToken);
    }

    /// <summary>Forgets those devices of a person that are gone: they are not used any more.</summary>
    /// <returns>How many there were.</returns>
    public async Task<int> ForgetGoneAsync(int personId, CancellationToken cancellationToken)
    {
        await using var db = await registry.CreateDbContextAsync(cancellationToken);
        return await db.PushSubscriptions.Where(s => s.PersonId == personId && s.GoneAt != null).ExecuteDeleteAsync(cancellationToken);
    }

    /// <summary>The spots a device follows, in no order.</summary>
    public async Task<IReadOnlyList<string>> FollowedAsync(int personId, string endpoint, CancellationToken cancellationToken)
    {
        await using var db = await registry.CreateDbContextAsync(cancellationToken);
        return await db.PushSubscriptions.Where(s => s.Endpoint == endpoint && s.PersonId == personId)
            .SelectMany(s => s.Follows.Select(f => f.SpotId)).ToListAsync(cancellationToken);
    }

    /// <summary>Forgets a device of this person.</summary>
    /// <returns>Whether there was one.</returns>
    public async Task<bool> RemoveAsync(int personId, string endpoint, CancellationToken cancellationToken)
    {
        await using var db = await registry.CreateDbContextAsync(cancellationToken);
        return await db.PushSubscriptions
            .Where(s => s.Endpoint == endpoint && s.PersonId == personId)
            .ExecuteDeleteAsync(cancellationToken) > 0;
    }

    /// <summary>What a device is to follow by what its browser remembers; the one it takes the place of goes. A phone that remembers none may be the one that is gone.</summary>
    private async Task<IReadOnlyList<string>> RememberedAsync(
        RegistryDb db, PushSubscriptionRow device, bool isNew, RememberedFollows remembered, CancellationToken cancellationToken)
    {
        var others = db.PushSubscriptions.Include(s => s.Follows).Where(s => s.PersonId == device.PersonId && s.Endpoint != device.Endpoint);
        var before = remembered.Replaces is { } old ? await others.SingleOrDefaultAsync(s => s.Endpoint == old, cancellationToken) : null;
        if (before is null && isNew)
            before = await others.Where(s => s.GoneAt != null).OrderByDescending(s => s.GoneAt).FirstOrDefaultAsync(cancellationToken);
        if (before is not null)
            db.PushSubscriptions.Remove(before);
        // A spot may be gone since; that is no reason to follow none of the others.
        return [.. (before?.Follows.Select(f => f.SpotId) ?? []).Concat(remembered.Spots).Distinct()
            .Where(s => SpotId.TryParse(s, out var id) && catalogue.Find(id) is not null)];
    }

    private static void Follow(PushSubscriptionRow device, IReadOnlyList<string> spots)
    {
        device.Follows.RemoveAll(f => !spots.Contains(f.SpotId));
        device.Follows.AddRange(spots.Distinct().Where(s => device.Follows.All(f => f.SpotId != s))
            .Select(s => new FollowRow { SubscriptionId = device.Id, SpotId = s }).ToList());
    }

    private static async Task MakeRoomAsync(RegistryDb db, int personId, CancellationToken cancellationToken)
    {
        var devices = await db.PushSubscriptions.Where(s => s.PersonId == personId)
            .OrderByDescending(s => s.GoneAt == null).ThenByDescending(s => s.Id).ToListAsync(cancellationToken);
        db.PushSubscriptions.RemoveRange(devices.Skip(MostDevices - 1));
    }

    private Dictionary<string, string[]> Faults(
        string endpoint, string p256dh, string auth, IReadOnlyList<string>? spots)
    {
        var faults = new Dictionary<string, string[]>();
        if (hosts.Refusal(endpoint) is { } refusal)
            faults["endpoint"] = [refusal];
        if (!IsPublicKey(p256dh))
            faults["keys.p256dh"] = ["not a P-256 public key, expected 65 bytes as base64url"];
        if (Bytes(auth) is not { Length: 16 })
            faults["keys.auth"] = ["expected 16 bytes as base64url"];
        if (spots?.FirstOrDefault(s => !SpotId.TryParse(s, out var id) || catalogue.Find(id) is null) is { } unknown)
            faults["spots"] = [$"there is no spot '{unknown}'"];
        return faults;
    }

    private static bool IsPublicKey(string text)
    {
        try
        {
            using var key = ECDiffieHellman.Create(Rfc8291.Key(Bytes(text)));
            return true;
        }
        catch (CryptographicException)
        {
            return false;
        }
    }

    private static byte[]? Bytes(string text) =>
        text.Length <= 200 && Base64Url.IsValid(text) ? Base64Url.DecodeFromChars(text) : null;
}
