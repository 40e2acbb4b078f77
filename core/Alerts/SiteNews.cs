using PavementWatch.Core.Contact;
using PavementWatch.Core.Readings;

namespace PavementWatch.Core.Alerts;

/// <summary>What one message says of a site: the news of its spots together, what else stands there, and where it is comfortable.</summary>
/// <remarks>
/// A newer message of a site takes the place of an older one on its way and on the screen; so it says again what the
/// device was told before and still stands.
/// </remarks>
/// <param name="News">The news, the most pressing first; else in the order given.</param>
/// <param name="AsBefore">Spots of the site without news, of which the device was told and where something still stands, with what stands.</param>
/// <param name="Comfortable">Spots to go to instead, where several are warned of; measured ones only.</param>
public sealed record SiteNews(
    IReadOnlyList<SpotNews> News, IReadOnlyList<(SpotId Spot, StandingAlert Standing)> AsBefore, IReadOnlyList<SpotId> Comfortable)
{
    /// <summary>So many comfortable spots are named.</summary>
    public const int MostComfortable = 2;

    /// <summary>Puts a message together.</summary>
    /// <param name="news">News of one site for one device; at least one.</param>
    /// <param name="site">The spots of the site as they are now.</param>
    /// <param name="told">Of which spots the device was told a warning before.</param>
    /// <returns>What the message says.</returns>
    public static SiteNews Of(IReadOnlyList<SpotNews> news, IReadOnlyList<SiteSpot> site, IReadOnlySet<SpotId> told)
    {
        ArgumentNullException.ThrowIfNull(news);
        ArgumentNullException.ThrowIfNull(site);
        ArgumentNullException.ThrowIfNull(told);
        var changed = news.Select(n => n.Spot).ToHashSet();
        var others = site.Where(s => !changed.Contains(s.Spot)).ToList();
        var asBefore = others.Where(s => told.Contains(s.Spot)).SelectMany(s => s.Standing.Select(standing => (s.Spot, Standing: standing)))
            .OrderBy(s => Rank(s.Standing.Warning)).ToList();
        // One spot alone is told as such; where to go instead matters where there is a choice less.
        var warned = news.Where(n => !n.IsOver).Select(n => n.Spot).Concat(asBefore.Select(s => s.Spot)).Distinct().Count();
        var comfortable = news.Count > 1 && warned > 1
            ? others.Where(s => s is { Standing.Count: 0, Word: GroundWord.Comfortable, Estimated: false }).Select(s => s.Spot).Take(MostComfortable).ToList()
            : [];
        return new SiteNews([.. news.OrderBy(Rank)], asBefore, comfortable);
    }

    private static int Rank(SpotNews news) => news switch
    {
        { IsOver: true } => 5,
        { State: AlertState.TooHot } => 0,
        { State: AlertState.Silent } => 1,
        { State: AlertState.Rising } => 2,
        { State: AlertState.Easing } => 3,
        _ => 4,
    };

    private static int Rank(StandingWarning warning) => warning switch
    {
        StandingWarning.TooHot => 0,
        StandingWarning.Estimated or StandingWarning.SilentHot => 1,
        StandingWarning.Rising => 2,
        _ => 3,
    };
}
