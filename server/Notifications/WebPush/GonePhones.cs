using Microsoft.EntityFrameworkCore;
using PavementWatch.Server.Database;
using PavementWatch.Server.Devices;
using PavementWatch.Server.Faults;
using PavementWatch.Server.Hosting;

namespace PavementWatch.Server.Notifications.WebPush;

/// <summary>People of whom a phone gets no alerts any more, as its push service gave it up: the business is told, until it has subscribed again.</summary>
internal sealed class GonePhones(
    IDbContextFactory<RegistryDb> registry, ServiceFaults faults, TimeProvider time, ILogger<GonePhones> logger) : ServerBackgroundService
{
    private static readonly TimeSpan Period = TimeSpan.FromSeconds(30);

    private HashSet<string> _raised = new(StringComparer.Ordinal);

    /// <summary>Raises a fault for each such person, and ends those of phones that are back.</summary>
    public async Task LookAsync(CancellationToken cancellationToken)
    {
        await using var db = await registry.CreateDbContextAsync(cancellationToken);
        var gone = await db.PushSubscriptions.Where(s => s.GoneAt != null)
            .Join(db.People, s => s.PersonId, p => p.Id, (s, p) => new { p.Id, Name = p.UserName, s.GoneAt }).ToListAsync(cancellationToken);
        var standing = new HashSet<string>(StringComparer.Ordinal);
        foreach (var person in gone.GroupBy(g => (g.Id, g.Name)))
        {
            var key = $"phone.{person.Key.Id}";
            standing.Add(key);
            faults.Raise(
                key,
                $"{person.Key.Name}: {(person.Count() == 1 ? "a phone" : $"{person.Count()} phones")} of theirs {(person.Count() == 1 ? "gets" : "get")} no alerts any more since {person.Min(p => p.GoneAt):yyyy-MM-dd'T'HH:mm'Z'}, as the push service gave it up (the browser or its site data was removed, or notifications were blocked); ask them to open the spots on it, where alerts are asked for again, or to say there that they use it no more",
                failsHealth: false);
        }

        foreach (var back in _raised.Except(standing))
            faults.End(back);
        _raised = standing;
    }

    protected override Task RunAsync(CancellationToken stoppingToken) => RepeatAsync(Period, time, LookAsync, logger.GonePhonesNotLookedAt, stoppingToken);
}
