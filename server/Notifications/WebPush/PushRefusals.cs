using System.Globalization;
using Microsoft.EntityFrameworkCore;
using PavementWatch.Server.Database;
using PavementWatch.Server.Devices;
using PavementWatch.Server.Faults;

namespace PavementWatch.Server.Notifications.WebPush;

/// <summary>Push services that forbid what this server sends, whichever device it is for: named as a fault, for it is the server's then.</summary>
internal sealed class PushRefusals(ServiceFaults faults)
{
    /// <summary>So long it is refused before it is named; in that time it is tried a few times.</summary>
    private static readonly TimeSpan Lasts = TimeSpan.FromSeconds(30);

    /// <summary>What went to other devices with the first that was refused came before or after it by chance.</summary>
    private static readonly TimeSpan Together = TimeSpan.FromMinutes(1);

    private readonly HashSet<string> _named = new(StringComparer.Ordinal);

    /// <summary>Whether its push service took what another device was sent, one it does not refuse now.</summary>
    /// <param name="db">The registry.</param>
    /// <param name="device">The device that is refused.</param>
    /// <param name="from">From when on.</param>
    /// <param name="until">Until when; what is dated later is of a clock that was set back since.</param>
    /// <param name="cancellationToken">Stops.</param>
    public static Task<bool> OthersAreTakenAsync(
        RegistryDb db, PushSubscriptionRow device, DateTimeOffset from, DateTimeOffset until, CancellationToken cancellationToken)
    {
        var ofItsService = $"{new Uri(device.Endpoint).GetLeftPart(UriPartial.Authority)}/%";
        return db.PushSubscriptions.AnyAsync(
            other => other.Id != device.Id && other.ForbiddenSince == null && EF.Functions.Like(other.Endpoint, ofItsService)
                && db.Set<NotificationRow>().Any(n => n.SubscriptionId == other.Id && n.SentAt >= from && n.SentAt <= until),
            cancellationToken);
    }

    /// <summary>Raises the fault of each service that refuses all it is sent, and ends those of services that do not any more. By one at a time.</summary>
    public async Task LookAsync(RegistryDb db, DateTimeOffset now, CancellationToken cancellationToken)
    {
        var refused = await db.PushSubscriptions.AsNoTracking().Where(s => s.ForbiddenSince != null && s.GoneAt == null).OrderBy(s => s.Id).ToListAsync(cancellationToken);
        var standing = new HashSet<string>(StringComparer.Ordinal);
        foreach (var service in refused.GroupBy(device => new Uri(device.Endpoint).Authority))
        {
            foreach (var device in service)
            {
                // Dated ahead: the clock was set back since, and it is as long ago as can be.
                var since = device.ForbiddenSince!.Value;
                if ((since <= now && now - since < Lasts) || await OthersAreTakenAsync(db, device, since - Together, now, cancellationToken))
                    continue;
                standing.Add(service.Key);
                faults.Raise(Key(service.Key), Words(service.Key, service.Count()));
                break;
            }
        }

        foreach (var mended in _named.Except(standing))
            faults.End(Key(mended));
        _named.Clear();
        _named.UnionWith(standing);
    }

    private static string Key(string service) => $"push.{service}";

    private static string Words(string service, int devices) => string.Create(
        CultureInfo.InvariantCulture,
        $"push service {service}: it refuses what this server sends (401 or 403), to {devices} {(devices == 1 ? "phone" : "phones")} so far, and has taken nothing since; expected it to be taken. Look at this server's clock and date (timedatectl), at Notifications:Subject, and whether the registry with the key for pushes is another than the one the phones know (then switch alerts off and on again on each phone; also where it is one phone only). What is news is tried again");
}
