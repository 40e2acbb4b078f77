using PavementWatch.Core.Contact;

namespace PavementWatch.Dashboards.Spots;

/// <summary>The order of cards when no position is shared: hottest first, the unknown before what is known to be bearable.</summary>
internal static class SpotOrder
{
    /// <summary>Sorts; within a word by temperature (an estimate by its upper end), then by name.</summary>
    public static IReadOnlyList<SpotNow> ByHeat(IEnumerable<SpotNow> spots) =>
        [.. spots.OrderByDescending(s => Rank(s.Word))
            .ThenByDescending(s => s.Estimated ? s.UpperCelsius ?? s.SurfaceCelsius : s.SurfaceCelsius)
            .ThenBy(s => s.Name, StringComparer.Ordinal)];

    private static int Rank(HeatWord word) => word switch
    {
        HeatWord.BurnsInSeconds => 4,
        HeatWord.TooHot => 3,
        HeatWord.Unknown => 2,
        HeatWord.Warm => 1,
        _ => 0,
    };
}
