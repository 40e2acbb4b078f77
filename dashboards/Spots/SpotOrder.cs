using PavementWatch.Core.Alerts;
using PavementWatch.Core.Contact;
using PavementWatch.Core.Readings;

namespace PavementWatch.Dashboards.Spots;

/// <summary>Orders of spots.</summary>
internal static class SpotOrder
{
    /// <summary>For walkers who share no position: the gravest word first, ground on which ice may lie as what freezes, the unknown before what is known to be bearable; within a word by temperature (an estimate by the end that chose the word), then by name.</summary>
    public static IReadOnlyList<SpotNow> ByGravity(IEnumerable<SpotNow> spots) =>
        [.. spots.OrderByDescending(s => GroundWords.Gravity(s is { Word: GroundWord.Cold, MayBeIcy: true } ? GroundWord.Freezing : s.Word))
            .ThenByDescending(s => IsCold(s.Word)
                ? -(s.Estimated ? s.LowerCelsius ?? s.SurfaceCelsius : s.SurfaceCelsius)
                : s.Estimated ? s.UpperCelsius ?? s.SurfaceCelsius : s.SurfaceCelsius)
            .ThenBy(s => s.Name, StringComparer.Ordinal)];

    /// <summary>For the business: what is hot or icy now, the gravest first; what is announced or not over; what is silent, in doubt or badly watched; the unknown; the rest. Within each by name, so that nothing moves without need.</summary>
    public static IReadOnlyList<SpotNow> ByNeed(IEnumerable<SpotNow> spots) =>
        [.. spots.OrderBy(Need).ThenByDescending(s => GroundWords.IsWarning(s.Word) ? GroundWords.Gravity(s.Word) : 0)
            .ThenBy(s => s.Name, StringComparer.Ordinal).ThenBy(s => s.Id.Value, StringComparer.Ordinal)];

    private static int Need(SpotNow spot) => spot switch
    {
        _ when GroundWords.IsWarning(spot.Word) => 0,
        { Word: GroundWord.Cold, MayBeIcy: true } => 0,
        { Standing.Count: > 0 } => 1,
        { WatchFails: true } or { State: AlertState.Silent } or { Doubt: not Doubt.None } => 2,
        { Word: GroundWord.Unknown } => 3,
        _ => 4,
    };

    private static bool IsCold(GroundWord word) => word is GroundWord.Bitter or GroundWord.Freezing or GroundWord.Cold;
}
