using System.Text.Json;
using Microsoft.EntityFrameworkCore;
using PavementWatch.Core.Alerts;
using PavementWatch.Core.Readings;
using PavementWatch.Core.Surfaces;
using PavementWatch.Dashboards.Texts;
using PavementWatch.Server.Database;
using PavementWatch.Server.Notifications;
using PavementWatch.Server.Store;

namespace PavementWatch.Server.Watch;

/// <summary>Writes what the alert machine remembers and decides, and puts what walkers are told into the outbox, all in one transaction.</summary>
internal sealed class AlertStore(
    IDbContextFactory<RegistryDb> registry, AlertNotifications news, NotificationOutbox outbox, UnwrittenAlerts unwritten, TimeProvider time)
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

    /// <summary>Writes a change down with its memory, and tells walkers if it says so. Where the registry takes nothing, they are told from memory.</summary>
    /// <returns>How many devices will be told; <c>null</c> where it is not written yet.</returns>
    public async Task<int?> RecordAsync(
        Spot spot, AlertMemory memory, AlertDecision decision, CancellationToken cancellationToken)
    {
        try
        {
            // What happened first is written first.
            if (await unwritten.WriteAsync(cancellationToken))
                return await WriteAsync(spot, memory, decision, cancellationToken);
            unwritten.Add(spot, memory, decision, null);
        }
        catch (Exception failure) when (DatabaseFaults.TakesNothing(failure))
        {
            unwritten.Add(spot, memory, decision, failure);
        }

        return null;
    }

    /// <summary>Writes what the registry did not take earlier, if it does now.</summary>
    /// <returns>Whether nothing is left.</returns>
    public Task<bool> WriteEarlierAsync(CancellationToken cancellationToken) => unwritten.WriteAsync(cancellationToken);

    /// <summary>The clock leapt ahead under what is not written yet.</summary>
    public void ClockLeaptAhead(TimeSpan by) => unwritten.ClockLeaptAhead(by);

    private async Task<int> WriteAsync(
        Spot spot, AlertMemory memory, AlertDecision decision, CancellationToken cancellationToken)
    {
        await using var db = await registry.CreateDbContextAsync(cancellationToken);
        await using var transaction = await db.Database.BeginTransactionAsync(cancellationToken);
        await PutAsync(db, spot.Id, memory, time.GetUtcNow(), cancellationToken);
        var change = EventOf(spot, decision);
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
        await using var transaction = await db.Database.BeginTransactionAsync(cancellationToken);
        foreach (var watch in watches)
            await PutAsync(db, watch.Spot.Id, watch.Memory, time.GetUtcNow(), cancellationToken);
        await transaction.CommitAsync(cancellationToken);
        foreach (var watch in watches)
            watch.Unsaved = false;
    }

    /// <summary>A change as the registry has it.</summary>
    public static AlertEventRow EventOf(Spot spot, AlertDecision decision) => new()
    {
        SpotId = spot.Id.Value,
        From = decision.From,
        To = decision.To,
        Because = decision.Because.ToString(),
        At = decision.At,
        SurfaceCelsius = decision.SurfaceCelsius,
        Notified = decision.Notify,
        Text = AlertTexts.Whole(spot.Name, decision),
    };

    /// <summary>Writes down what is remembered of a spot.</summary>
    /// <remarks>In one statement: two that look first and write then could both find nothing.</remarks>
    public static Task<int> PutAsync(RegistryDb db, SpotId spot, AlertMemory memory, DateTimeOffset at, CancellationToken cancellationToken) =>
        db.Database.ExecuteSqlAsync(
            $"""
            INSERT INTO "AlertMemories" ("SpotId", "Json", "SavedAt")
            VALUES ({spot.Value}, {JsonSerializer.Serialize(memory)}, {at.ToUnixTimeMilliseconds()})
            ON CONFLICT ("SpotId") DO UPDATE SET "Json" = excluded."Json", "SavedAt" = excluded."SavedAt"
            """,
            cancellationToken);
}
