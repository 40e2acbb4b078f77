using PavementWatch.Core.Alerts;
using PavementWatch.Core.Contact;
using PavementWatch.Core.Readings;

namespace PavementWatch.Dashboards.Spots;

/// <summary>Orders of spots.</summary>
internal static class SpotOrder
{
    /// <summary>For walkers who share no position: hottest first, the unknown before what is known to be bearable; within a word by temperature (an estimate by its upper end), then by name.</summary>
    public static IReadOnlyList<SpotNow> ByHeat(IEnumerable<SpotNow> spots) =>
        [.. spots.OrderByDescending(s => Rank(s.Word))
            .ThenByDescending(s => s.Estimated ? s.UpperCelsius ?? s.SurfaceCelsius : s.SurfaceCelsius)
            .ThenBy(s => s.Name, StringComparer.Ordinal)];

    /// <summary>What is silent or in doubt needs a person and stands first; the rest follows in the order it had.</summary>
    public static IReadOnlyList<SpotNow> ByNeed(IEnumerable<SpotNow> spots) =>
        [.. spots.OrderByDescending(s => s.State == AlertState.Silent).ThenByDescending(s => s.Doubt != Doubt.None)];

    private static int Rank(HeatWord word) => word switch
    {
        HeatWord.BurnsInSeconds => 4,
        HeatWord.TooHot => 3,
        HeatWord.Unknown => 2,
        HeatWord.Warm => 1,
        _ => 0,
    };
}
