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
    /// <summary>Of how many spots a message says more than its title does; fewer, and then fewer spots, where it would be too long.</summary>
    private static readonly int[] Lines = [SiteTexts.MostBodies, 2, 0];

    /// <summary>The other spots of a spot's site; none where it is of no site.</summary>
    public IReadOnlyList<string> SpotsBeside(string spot) =>
        catalogue.Find(SpotId.Parse(spot)) is { Site.Length: > 0 } known ? [.. SpotsOf(known.Site).Select(s => s.Id.Value)] : [];

    /// <summary>The message. One of a spot alone, with nothing to add, is as it waited.</summary>
    /// <param name="db">The registry.</param>
    /// <param name="notifications">What is told, all for one device and of one site; at least one.</param>
    /// <param name="cancellationToken">Stops.</param>
    /// <returns>It, and those of the notifications that it tells. Where not all have room in one, these are the most pressing; the others are for the next.</returns>
    public async Task<(PushMessageBody Message, IReadOnlyList<NotificationRow> Told)> OfAsync(
        RegistryDb db, IReadOnlyList<NotificationRow> notifications, CancellationToken cancellationToken)
    {
        if (notifications.Count > 1)
        {
            // In the business's order, whichever was written first.
            var order = catalogue.All.Select((spot, i) => (spot.Id.Value, i)).ToDictionary(s => s.Value, s => s.i);
            notifications = [.. notifications.OrderBy(n => order.GetValueOrDefault(n.SpotId, int.MaxValue)).ThenBy(n => n.EventId)];
        }

        if (catalogue.Find(SpotId.Parse(notifications[0].SpotId)) is not { Site: { Length: > 0 } site })
            return (PushMessageBody.Of(notifications[0].Payload), [notifications[0]]);
        var events = notifications.Select(n => n.EventId).ToList();
        var decisions = (await db.AlertEvents.AsNoTracking().Where(e => events.Contains(e.Id)).ToListAsync(cancellationToken)).ToDictionary(e => e.Id, e => e.Decision());
        var spots = SpotsOf(site).Select(s => board.Find(s.Id)).OfType<SpotNow>().ToList();
        var earlier = await EarlierAsync(db, notifications[0].SubscriptionId, [.. spots.Where(s => s.Standing.Count > 0).Select(s => s.Id.Value)], events, cancellationToken);

        IReadOnlyList<Waiting> told =
        [
            .. notifications.Select(row => (Row: row, Body: PushMessageBody.Of(row.Payload))).Select(n => new Waiting(
                new SpotNews(SpotId.Parse(n.Row.SpotId), StateOf(n.Body), decisions.GetValueOrDefault(n.Row.EventId)?.IsOver ?? false), n.Row, n.Body)),
        ];
        var all = told.Select(w => w.News.Spot).ToHashSet();
        while (true)
        {
            // Of a spot that the next message tells of, this one says nothing.
            var others = spots.Where(s => !all.Contains(s.Id) || told.Any(w => w.News.Spot == s.Id))
                .Select(s => new SiteSpot(s.Id, s.Standing, s.Word, s.Estimated)).ToList();
            var news = SiteNews.Of([.. told.Select(w => w.News)], others, earlier.Select(n => SpotId.Parse(n.SpotId)).ToHashSet());
            List<Waiting> ordered = [.. news.News.Select(one => told.First(w => ReferenceEquals(w.News, one)))];
            foreach (var lines in Lines)
            {
                var message = Message(site, ordered, news, earlier, lines);
                if (message.Bytes() <= PushMessageBody.MaxBytes || (ordered.Count == 1 && lines == 0))
                    return (message, [.. told.Select(w => w.Row)]);
            }

            told = [.. ordered.Take((ordered.Count + 1) / 2)];
        }
    }

    private PushMessageBody Message(string site, List<Waiting> ordered, SiteNews news, IReadOnlyList<NotificationRow> earlier, int lines)
    {
        var before = news.AsBefore.Select(s => (NameOf(s.Spot), StandingTexts.What(s.Standing))).ToList();
        var first = ordered[0].Body;
        if (ordered.Count == 1 && before.Count == 0)
            return first;
        var message = ordered.Count == 1 ? first with { Body = $"{first.Body} {SiteTexts.AsBefore(site, before)}" } : first with
        {
            Title = SiteTexts.Title(site, [.. ordered.Select(w => (NameOf(w.News.Spot), WhatOf(w.Body)))], [.. news.Comfortable.Select(NameOf)]),
            What = "",
            Body = SiteTexts.Body(site, [.. ordered.Select(w => (NameOf(w.News.Spot), w.Body.Body))], before, lines),
            At = ordered.Max(w => w.Body.At),
            Url = "/",
            With = [.. ordered.Skip(1).Select(w => w.Body.Id)],
        };
        message = message with { Again = [] };
        // Who shows this has seen again what it was told earlier. What has no room counts as not shown.
        return message with
        {
            Again =
            [
                .. earlier.Where(n => n.ShownAt is null && news.AsBefore.Any(s => s.Spot.Value == n.SpotId && s.Standing.Side == n.Side)).Select(n => n.Id)
                    .Take(Math.Max(0, (PushMessageBody.MaxBytes - message.Bytes()) / PushMessageBody.BytesOfName)),
            ],
        };
    }

    /// <summary>The last warning of each spot and side that a push service took for a device, of spots where something stands.</summary>
    private static async Task<IReadOnlyList<NotificationRow>> EarlierAsync(
        RegistryDb db, int device, List<string> spots, List<int> except, CancellationToken cancellationToken)
    {
        if (spots.Count == 0)
            return [];
        var newest = await db.AlertEvents.Where(e => e.Notified && spots.Contains(e.SpotId)).NewestIds().ToListAsync(cancellationToken);
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

    /// <summary>What waits for a device of one spot and side.</summary>
    private sealed record Waiting(SpotNews News, NotificationRow Row, PushMessageBody Body);
}
