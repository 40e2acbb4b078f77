using PavementWatch.Core.Contact;
using PavementWatch.Core.Offsets;
using PavementWatch.Dashboards.Texts;

namespace PavementWatch.Dashboards.Days;

/// <summary>One hour of a day, by its hottest moment: one row of the table, one step of the strip.</summary>
/// <param name="Clock">Local time it starts at.</param>
/// <param name="Word">By the hottest measured value or the highest upper end of an estimate, whichever is hotter.</param>
internal sealed record DayHour(string Clock, HeatWord Word)
{
    /// <summary>[°C] Hottest measured surface.</summary>
    public double? SurfaceCelsius { get; init; }

    /// <summary>Whether any of the hour rests on an estimate.</summary>
    public bool Estimated { get; init; }

    /// <summary>Whether an estimate of the hour may be further off than its interval says.</summary>
    public bool LessSure { get; init; }

    /// <summary>[°C] Lowest lower end among its estimates.</summary>
    public double? LowerCelsius { get; init; }

    /// <summary>[°C] Highest upper end among its estimates.</summary>
    public double? UpperCelsius { get; init; }

    /// <summary>[°C] Highest air temperature.</summary>
    public double? AirCelsius { get; init; }

    /// <summary>The hours of a day in order: 24, or 23 or 25 where the clock changes.</summary>
    public static IReadOnlyList<DayHour> Of(SpotDay day)
    {
        var byHour = day.Points.ToLookup(p => (int)Math.Floor((p.At - day.From).TotalHours));
        var count = (int)Math.Ceiling((day.To - day.From).TotalHours);
        return [.. Enumerable.Range(0, count).Select(h => One(day, day.From.AddHours(h), [.. byHour[h]]))];
    }

    private static DayHour One(SpotDay day, DateTimeOffset start, DayPoint[] points)
    {
        var guessed = points.Where(p => p.SurfaceCelsius is null && p.EstimateCelsius is not null).ToArray();
        var surface = points.Max(p => p.SurfaceCelsius);
        var upper = guessed.Max(p => p.UpperCelsius ?? p.EstimateCelsius);
        var limit = day.Spot.LimitCelsius;
        var words = new[] { HeatWords.For(surface, limit), HeatWords.ForEstimate(upper, limit, !day.NeverMeasured) };
        return new(MomentTexts.Clock(start, day.Spot.TimeZoneId), words.Max())
        {
            SurfaceCelsius = surface,
            Estimated = guessed.Length > 0,
            LessSure = guessed.Any(p => (p.Doubt & ~EstimateDoubt.AirGuessed) != 0 || (p.Doubt != 0 && !(p.At >= day.Coming?.From))),
            LowerCelsius = guessed.Min(p => p.LowerCelsius ?? p.EstimateCelsius),
            UpperCelsius = upper,
            AirCelsius = points.Max(p => p.AirCelsius),
        };
    }
}
