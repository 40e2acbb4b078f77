
namespace PavementWatch.Dashboards.Days;

/// <summary>A <see cref="SpotDay"/> as <c>/api/spots/{id}/day</c> sends it and the chart reads it: columns, not rows, to be light on a phone's connection.</summary>
/// <remarks>
/// <c>Day</c> is <c>yyyy-MM-dd</c>; <c>From</c> (inclusive) and <c>To</c> (exclusive) are UTC; <c>At</c> is seconds since
/// <c>From</c>, one for each point, and every other column has as many values, <c>null</c> where there is none.
/// </remarks>
public sealed record SpotDayJson(
    string Id, string Name, string TimeZoneId, double LimitCelsius, string Day, DateTimeOffset From, DateTimeOffset To,
    IReadOnlyList<double> At, IReadOnlyList<double?> SurfaceCelsius, IReadOnlyList<double?> AirCelsius,
    IReadOnlyList<double?> EstimateCelsius, IReadOnlyList<double?> LowerCelsius, IReadOnlyList<double?> UpperCelsius,
    IReadOnlyList<TooHotSpan> TooHot, WalkMark? Walk, ComingHours? Coming, IReadOnlyList<DayDoubt> Doubts)
{
    /// <summary>Makes it; temperatures to a tenth.</summary>
    public static SpotDayJson Of(SpotDay day)
    {
        ArgumentNullException.ThrowIfNull(day);
        return new(
            day.Spot.Id.Value, day.Spot.Name, day.Spot.TimeZoneId, day.Spot.LimitCelsius,
            day.Day.ToString("yyyy-MM-dd", System.Globalization.CultureInfo.InvariantCulture), day.From, day.To,
            [.. day.Points.Select(p => Math.Round((p.At - day.From).TotalSeconds))],
            Column(day, p => p.SurfaceCelsius), Column(day, p => p.AirCelsius), Column(day, p => p.EstimateCelsius),
            Column(day, p => p.LowerCelsius), Column(day, p => p.UpperCelsius),
            day.TooHot, day.Walk, day.Coming, DayDoubt.Of(day));
    }

    private static double?[] Column(SpotDay day, Func<DayPoint, double?> field) =>
        [.. day.Points.Select(p => field(p) is { } v ? Math.Round(v, 1) : (double?)null)];
}
