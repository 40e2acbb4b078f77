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

    /// <summary>What is silent or in doubt needs a person and stands first; the rest follows in the order it had.</summary>
    public static IReadOnlyList<SpotNow> ByNeed(IEnumerable<SpotNow> spots) =>
        [.. spots.OrderByDescending(s => s.State == AlertState.Silent).ThenByDescending(s => s.Doubt != Doubt.None)];

    private static bool IsCold(GroundWord word) => word is GroundWord.Bitter or GroundWord.Freezing or GroundWord.Cold;
}
