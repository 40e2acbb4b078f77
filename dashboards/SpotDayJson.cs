namespace PavementWatch.Dashboards;

/// <summary>A <see cref="SpotDay"/> as <c>/api/spots/{id}/day</c> sends it and the chart reads it: columns, not rows, to be light on a phone's connection.</summary>
/// <param name="Day">The local day, <c>yyyy-MM-dd</c>.</param>
/// <param name="From">Its first moment, UTC; <see cref="At"/> counts from here.</param>
/// <param name="To">Its end, exclusive, UTC.</param>
/// <param name="At">[s] Seconds since <paramref name="From"/> of each point.</param>
/// <param name="SurfaceCelsius">[°C] Measured surface of each point, or <c>null</c>.</param>
/// <param name="AirCelsius">[°C] Air of each point, or <c>null</c>.</param>
/// <param name="EstimateCelsius">[°C] Estimated surface of each point, or <c>null</c>.</param>
/// <param name="LowerCelsius">[°C] Lower end of its interval, or <c>null</c>.</param>
/// <param name="UpperCelsius">[°C] Upper end of its interval, or <c>null</c>.</param>
public sealed record SpotDayJson(
    string Id, string Name, string TimeZoneId, double LimitCelsius, string Day, DateTimeOffset From, DateTimeOffset To,
    IReadOnlyList<double> At, IReadOnlyList<double?> SurfaceCelsius, IReadOnlyList<double?> AirCelsius,
    IReadOnlyList<double?> EstimateCelsius, IReadOnlyList<double?> LowerCelsius, IReadOnlyList<double?> UpperCelsius,
    IReadOnlyList<TooHotSpan> TooHot, WalkMark? Walk)
{
    /// <summary>Makes it; temperatures to a tenth.</summary>
    public static SpotDayJson From(SpotDay day)
    {
        ArgumentNullException.ThrowIfNull(day);
        return new(
            day.Spot.Id.Value, day.Spot.Name, day.Spot.TimeZoneId, day.Spot.LimitCelsius,
            day.Day.ToString("yyyy-MM-dd", System.Globalization.CultureInfo.InvariantCulture), day.From, day.To,
            [.. day.Points.Select(p => Math.Round((p.At - day.From).TotalSeconds))],
            Column(day, p => p.SurfaceCelsius), Column(day, p => p.AirCelsius), Column(day, p => p.EstimateCelsius),
            Column(day, p => p.LowerCelsius), Column(day, p => p.UpperCelsius),
            day.TooHot, day.Walk);
    }

    private static double?[] Column(SpotDay day, Func<DayPoint, double?> field) =>
        [.. day.Points.Select(p => field(p) is { } v ? Math.Round(v, 1) : (double?)null)];
}
