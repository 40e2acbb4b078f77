namespace PavementWatch.Dashboards.Spots;

/// <summary>By whose clock moments are said that belong to no spot: that of the spots where all lie in one time zone, else UTC.</summary>
public static class CommonZone
{
    /// <summary>The zone.</summary>
    /// <param name="board">The spots.</param>
    /// <returns>Its IANA name.</returns>
    public static string Of(ISpotBoard board)
    {
        ArgumentNullException.ThrowIfNull(board);
        return board.All().Select(s => s.TimeZoneId).Distinct().Take(2).ToList() is [var one] ? one : "Etc/UTC";
    }
}
