using System.Buffers.Text;
using System.Security.Cryptography;
using Microsoft.EntityFrameworkCore;
using PavementWatch.Server.Database;

namespace PavementWatch.Server.Notifications.WebPush;

/// <summary>The server's key pair towards push services (RFC 8292): made on the first start, then kept, for subscriptions are bound to it.</summary>
internal sealed class VapidKeys(IDbContextFactory<RegistryDb> registry, TimeProvider time)
{
    private const int OnlyRow = 1;

    private volatile VapidKeysRow? _kept;

    /// <summary>The keys; made now if there are none yet.</summary>
    public async ValueTask<VapidKeysRow> GetAsync(CancellationToken cancellationToken)
    {
        if (_kept is { } kept)
            return kept;
        await using var db = await registry.CreateDbContextAsync(cancellationToken);
        var row = await db.VapidKeys.SingleOrDefaultAsync(cancellationToken);
        if (row is null)
        {
            row = Make(time.GetUtcNow());
            // Two who come first at once must end up with the same keys.
            await db.Database.ExecuteSqlAsync(
                $"""
                INSERT INTO "VapidKeys" ("Id", "PublicKey", "PrivateKey", "CreatedAt")
                VALUES ({row.Id}, {row.PublicKey}, {row.PrivateKey}, {row.CreatedAt.ToUnixTimeMilliseconds()}) ON CONFLICT DO NOTHING
                """,
                cancellationToken);
            row = await db.VapidKeys.AsNoTracking().SingleAsync(cancellationToken);
        }

        return _kept = row;
    }

    private static VapidKeysRow Make(DateTimeOffset now)
    {
        using var pair = ECDsa.Create(ECCurve.NamedCurves.nistP256);
        var key = pair.ExportParameters(includePrivateParameters: true);
        return new VapidKeysRow
        {
            Id = OnlyRow,
            PublicKey = Base64Url.EncodeToString([0x04, .. key.Q.X!, .. key.Q.Y!]),
            PrivateKey = Base64Url.EncodeToString(key.D),
            CreatedAt = now,
        };
    }
}
