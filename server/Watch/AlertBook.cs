using System.Text.Json;
using Microsoft.EntityFrameworkCore;
using PavementWatch.Core.Alerts;
using PavementWatch.Core.Readings;
using PavementWatch.Core.Surfaces;
using PavementWatch.Server.Notifications;
using PavementWatch.Server.Registry;
using PavementWatch.Server.Registry.Rows;

namespace PavementWatch.Server.Watch;

/// <summary>Writes what the alert machine remembers and decides, and puts what walkers are told into the outbox, all in one transaction.</summary>
internal sealed class AlertBook(
    IDbContextFactory<RegistryDb> registry, AlertNews news, NotificationOutbox outbox, TimeProvider time)
{
    /// <summary>What is remembered of a spot and the change that brought it there; <c>null</c> when nothing is.</summary>
    public async Task<(AlertMemory Memory, AlertEventRow? LastChange)?> LoadAsync(SpotId spot, CancellationToken cancellationToken)
    {
        await using var db = await registry.CreateDbContextAsync(cancellationToken);
        var row = await db.AlertMemories.AsNoTracking().SingleOrDefaultAsync(m => m.SpotId == spot.Value, cancellationToken);
        if (row is null)
            return null;
        var lastChange = await db.AlertEvents.AsNoTracking().Where(e => e.SpotId == spot.Value).OrderByDescending(e => e.Id)
            .FirstOrDefaultAsync(cancellationToken);
        return (JsonSerializer.Deserialize<AlertMemory>(row.Json)!, lastChange);
    }

    /// <summary>Writes a change down with its memory, and tells walkers if it says so.</summary>
    /// <returns>How many devices will be told.</returns>
    public async Task<int> RecordAsync(
        Spot spot, AlertMemory memory, AlertDecision decision, CancellationToken cancellationToken)
    {
        await using var db = await registry.CreateDbContextAsync(cancellationToken);
        await using var transaction = await db.Database.BeginTransactionAsync(cancellationToken);
        await PutAsync(db, spot.Id, memory, cancellationToken);
        var change = new AlertEventRow
        {
            SpotId = spot.Id.Value,
            From = decision.From,
            To = decision.To,
            Because = decision.Because.ToString(),
            At = decision.At,
            SurfaceCelsius = decision.SurfaceCelsius,
            Notified = decision.Notify,
            Text = decision.Text(spot.Name),
        };
        db.AlertEvents.Add(change);
        await db.SaveChangesAsync(cancellationToken);
        var told = 0;
        if (decision.Notify)
        {
            (told, change.Walkers) = await news.PutAsync(db, spot, decision, change.Id, cancellationToken);
            change.Unseen = decision.IsWarning && change.Walkers > 0 ? UnseenStanding.Watched : UnseenStanding.None;
        }

        await db.SaveChangesAsync(cancellationToken);
        await transaction.CommitAsync(cancellationToken);
        if (told > 0)
            outbox.Call();
        return told;
    }

    /// <summary>Writes memories down that changed without a decision.</summary>
    public async Task SaveAsync(IReadOnlyList<SpotWatch> watches, CancellationToken cancellationToken)
    {
        if (watches.Count == 0)
            return;
        await using var db = await registry.CreateDbContextAsync(cancellationToken);
        foreach (var watch in watches)
            await PutAsync(db, watch.Spot.Id, watch.Memory, cancellationToken);
        await db.SaveChangesAsync(cancellationToken);
        foreach (var watch in watches)
            watch.Unsaved = false;
    }

    private async Task PutAsync(RegistryDb db, SpotId spot, AlertMemory memory, CancellationToken cancellationToken)
    {
        var json = JsonSerializer.Serialize(memory);
        var now = time.GetUtcNow();
        if (await db.AlertMemories.FindAsync([spot.Value], cancellationToken) is not { } row)
        {
            db.AlertMemories.Add(new AlertMemoryRow { SpotId = spot.Value, Json = json, SavedAt = now });
            return;
        }

        row.Json = json;
        row.SavedAt = now;
    }
}
