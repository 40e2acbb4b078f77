
namespace PavementWatch.Dashboards.Days;

/// <summary>A <see cref="SpotDay"/> as <c>/api/spots/{id}/day</c> sends it and the chart reads it: columns, not rows, to be light on a phone's connection.</summary>
/// <remarks>
/// <c>Day</c> is <c>yyyy-MM-dd</c>; <c>From</c> (inclusive) and <c>To</c> (exclusive) are UTC; <c>At</c> is seconds since
/// <c>From</c>, one for each point, and every other column has as many values, <c>null</c> where there is none.
/// <c>SurfaceCelsius</c> is the mean of the good readings of five minutes, <c>HottestCelsius</c> and <c>ColdestCelsius</c> are the outermost of them.
/// </remarks>
public sealed record SpotDayJson(
    string Id, string Name, string TimeZoneId, double LimitCelsius, string Day, DateTimeOffset From, DateTimeOffset To,
    IReadOnlyList<double> At, IReadOnlyList<double?> SurfaceCelsius, IReadOnlyList<double?> HottestCelsius, IReadOnlyList<double?> ColdestCelsius,
    IReadOnlyList<double?> AirCelsius,
    IReadOnlyList<double?> EstimateCelsius, IReadOnlyList<double?> LowerCelsius, IReadOnlyList<double?> UpperCelsius,
    IReadOnlyList<TooHotSpan> TooHot, WalkJson? Walk, ComingHours? Coming, IReadOnlyList<DayDoubt> Doubts)
{
    /// <summary>Makes it; temperatures to a tenth.</summary>
    public static SpotDayJson Of(SpotDay day)
    {
        ArgumentNullException.ThrowIfNull(day);
        return new(
            day.Spot.Id.Value, day.Spot.Name, day.Spot.TimeZoneId, day.Spot.LimitCelsius,
            day.Day.ToString("yyyy-MM-dd", System.Globalization.CultureInfo.InvariantCulture), day.From, day.To,
            [.. day.Points.Select(p => Math.Round((p.At - day.From).TotalSeconds))],
            Column(day, p => p.SurfaceCelsius), Column(day, p => p.HottestCelsius ?? p.SurfaceCelsius), Column(day, p => p.ColdestCelsius ?? p.SurfaceCelsius),
            Column(day, p => p.AirCelsius), Column(day, p => p.EstimateCelsius),
            Column(day, p => p.LowerCelsius), Column(day, p => p.UpperCelsius),
            day.TooHot, day.Walk is { } walk ? WalkJson.Of(walk, day.Spot.TimeZoneId) : null, day.Coming, DayDoubt.Of(day));
    }

    private static double?[] Column(SpotDay day, Func<DayPoint, double?> field) =>
        [.. day.Points.Select(p => field(p) is { } v ? Math.Round(v, 1) : (double?)null)];
}

/// <summary>A walk on a day.</summary>
/// <param name="From">UTC.</param>
/// <param name="To">UTC.</param>
/// <param name="Dog">The dog's name.</param>
/// <param name="Note">What was done and why, in plain words.</param>
/// <param name="Dose">What its ground adds up to, at all its spots; <c>null</c> where that is said elsewhere.</param>
public sealed record WalkJson(DateTimeOffset From, DateTimeOffset To, string Dog, string Note, WalkDoseJson? Dose)
{
    /// <summary>Makes it.</summary>
    /// <param name="walk">The walk.</param>
    /// <param name="timeZoneId">Times in its sentence are said in this zone.</param>
    public static WalkJson Of(WalkMark walk, string timeZoneId)
    {
        ArgumentNullException.ThrowIfNull(walk);
        return new(walk.From, walk.To, walk.Dog, walk.Note, walk.Dose is not { } dose ? null : new(
            dose.Dose.Fraction is { } fraction ? Math.Min(1, fraction) : null, dose.HurtFrom, dose.UnknownSpots, WalkDoseTexts.Of(dose, walk.Dog, timeZoneId)));
    }
}

/// <summary>What a walk's ground adds up to, at the hottest it may be and with as much time at each of its spots.</summary>
/// <param name="DoseFraction">[fraction] Of the ground's heat that hurts skin; 1 where it does, however much more it is. <c>null</c> where it is unknown.</param>
/// <param name="HurtFrom">From when on it does, at the latest, UTC; <c>null</c> where what is known does not.</param>
/// <param name="UnknownSpots">Names of the spots whose ground is not known all the time.</param>
/// <param name="Text">The same for people.</param>
public sealed record WalkDoseJson(double? DoseFraction, DateTimeOffset? HurtFrom, IReadOnlyList<string> UnknownSpots, string Text);
