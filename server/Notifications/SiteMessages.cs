using Microsoft.EntityFrameworkCore;
using PavementWatch.Core.Alerts;
using PavementWatch.Core.Readings;
using PavementWatch.Core.Surfaces;
using PavementWatch.Dashboards.Spots;
using PavementWatch.Dashboards.Texts;
using PavementWatch.Server.Database;
using PavementWatch.Server.Notifications.WebPush;
using PavementWatch.Server.Spots;

namespace PavementWatch.Server.Notifications;

/// <summary>Makes one message of what waits for a device about one site, by <see cref="SiteNews"/>.</summary>
internal sealed class SiteMessages(SpotCatalogue catalogue, ISpotBoard board)
{
    /// <summary>The other spots of a spot's site; none where it is of no site.</summary>
    public IReadOnlyList<string> SpotsBeside(string spot) =>
        catalogue.Find(SpotId.Parse(spot)) is { Site.Length: > 0 } known ? [.. SpotsOf(known.Site).Select(s => s.Id.Value)] : [];

    /// <summary>The message. One of a spot alone, with nothing to add, is as it waited.</summary>
    /// <param name="db">The registry.</param>
    /// <param name="notifications">What is told, all for one device and of one site; at least one.</param>
    /// <param name="cancellationToken">Stops.</param>
    public async Task<PushMessageBody> OfAsync(RegistryDb db, IReadOnlyList<NotificationRow> notifications, CancellationToken cancellationToken)
    {
        if (notifications.Count > 1)
        {
            // In the business's order, whichever was written first.
            var order = catalogue.All.Select((spot, i) => (spot.Id.Value, i)).ToDictionary(s => s.Value, s => s.i);
            notifications = [.. notifications.OrderBy(n => order.GetValueOrDefault(n.SpotId, int.MaxValue)).ThenBy(n => n.EventId)];
        }

        var bodies = notifications.Select(n => PushMessageBody.Of(n.Payload)).ToList();
        if (catalogue.Find(SpotId.Parse(notifications[0].SpotId)) is not { Site: { Length: > 0 } site })
            return bodies[0];
        var events = notifications.Select(n => n.EventId).ToList();
        var decisions = (await db.AlertEvents.AsNoTracking().Where(e => events.Contains(e.Id)).ToListAsync(cancellationToken)).ToDictionary(e => e.Id, e => e.Decision());
        var spots = SpotsOf(site).Select(s => board.Find(s.Id)).OfType<SpotNow>().ToList();
        var earlier = await EarlierAsync(db, notifications[0].SubscriptionId, [.. spots.Where(s => s.Standing.Count > 0).Select(s => s.Id.Value)], events, cancellationToken);

        var waiting = notifications.Zip(bodies, (row, body) => (
            News: new SpotNews(SpotId.Parse(row.SpotId), StateOf(body), decisions.GetValueOrDefault(row.EventId)?.IsOver ?? false), Body: body)).ToList();
        var told = SiteNews.Of(
            [.. waiting.Select(w => w.News)], [.. spots.Select(s => new SiteSpot(s.Id, s.Standing, s.Word, s.Estimated))],
            earlier.Select(n => SpotId.Parse(n.SpotId)).ToHashSet());
        var before = told.AsBefore.Select(s => (NameOf(s.Spot), StandingTexts.What(s.Standing))).ToList();
        if (told.News.Count == 1 && before.Count == 0)
            return bodies[0];

        // Who shows this has seen again what it was told earlier.
        var again = earlier.Where(n => n.ShownAt is null && told.AsBefore.Any(s => s.Spot.Value == n.SpotId && s.Standing.Side == n.Side)).Select(n => n.Id).ToList();
        if (told.News.Count == 1)
            return bodies[0] with { Body = $"{bodies[0].Body} {SiteTexts.AsBefore(site, before)}", Again = again };
        var ordered = told.News.Select(news => waiting.First(w => ReferenceEquals(w.News, news)).Body).ToList();
        return ordered[0] with
        {
            Title = SiteTexts.Title(site, [.. ordered.Select(b => (NameOf(SpotId.Parse(b.Spot)), WhatOf(b)))], [.. told.Comfortable.Select(NameOf)]),
            What = "",
            Body = SiteTexts.Body(site, [.. ordered.Select(b => (NameOf(SpotId.Parse(b.Spot)), b.Body))], before),
            At = ordered.Max(b => b.At),
            Url = "/",
            With = [.. ordered.Skip(1).Select(b => b.Id)],
            Again = again,
        };
    }

    /// <summary>The last warning of each spot and side that a push service took for a device, of spots where something stands.</summary>
    private static async Task<IReadOnlyList<NotificationRow>> EarlierAsync(
        RegistryDb db, int device, List<string> spots, List<int> except, CancellationToken cancellationToken)
    {
        if (spots.Count == 0)
            return [];
        var newest = await db.AlertEvents.Where(e => e.Notified && spots.Contains(e.SpotId))
            .GroupBy(e => new { e.SpotId, e.Side }).Select(g => g.Max(e => e.Id)).ToListAsync(cancellationToken);
        return await db.Notifications.AsNoTracking()
            .Where(n => n.SubscriptionId == device && newest.Contains(n.EventId) && !except.Contains(n.EventId) && n.Standing == NotificationStanding.Sent)
            .ToListAsync(cancellationToken);
    }

    private IEnumerable<Spot> SpotsOf(string site) => catalogue.All.Where(s => s.Site == site);

    private string NameOf(SpotId spot) => catalogue.Find(spot)?.Name ?? spot.Value;

    // An earlier server put none beside its title.
    private static string WhatOf(PushMessageBody body) => string.IsNullOrEmpty(body.What) ? body.Title : body.What;

    private static AlertState StateOf(PushMessageBody body) =>
        body.State == "tooCold" ? AlertState.TooHot : Enum.TryParse<AlertState>(body.State, ignoreCase: true, out var state) ? state : AlertState.Silent;
}
