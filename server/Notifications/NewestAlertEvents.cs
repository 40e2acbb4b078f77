namespace PavementWatch.Server.Notifications;

/// <summary>Of changes, the last of each spot and side: heat and cold stand each for itself.</summary>
internal static class NewestAlertEvents
{
    /// <summary>Their names, in no order.</summary>
    /// <param name="events">Among which changes, e.g. those that walkers were told.</param>
    public static IQueryable<int> NewestIds(this IQueryable<AlertEventRow> events) =>
        events.GroupBy(e => new { e.SpotId, e.Side }).Select(g => g.Max(e => e.Id));
}
