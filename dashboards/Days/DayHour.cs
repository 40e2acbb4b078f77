using PavementWatch.Core.Contact;
using PavementWatch.Core.Offsets;
using PavementWatch.Dashboards.Texts;

namespace PavementWatch.Dashboards.Days;

/// <summary>One hour of a day, by its gravest moment: one row of the table, one step of the strip.</summary>
/// <param name="Clock">Local time it starts at.</param>
/// <param name="Word">The gravest word of what was measured and of both ends of the estimates.</param>
internal sealed record DayHour(string Clock, GroundWord Word)
{
    /// <summary>[°C] Hottest measured surface; the coldest where that is what the word is of.</summary>
    public double? SurfaceCelsius { get; init; }

    /// <summary>Whether any of the hour rests on an estimate.</summary>
    public bool Estimated { get; init; }

    /// <summary>Whether an estimate of the hour may be further off than its interval says.</summary>
    public bool LessSure { get; init; }

    /// <summary>[°C] Lowest lower end among its estimates.</summary>
    public double? LowerCelsius { get; init; }

    /// <summary>[°C] Highest upper end among its estimates.</summary>
    public double? UpperCelsius { get; init; }

    /// <summary>[°C] Hottest reading in doubt that counts as too hot, or the coldest that counts as freezing, of the time in doubt that reaches into the hour; <c>null</c> without one.</summary>
    public double? DoubtedCelsius { get; init; }

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
        // Of a mean nobody is told; of the readings in it walkers were.
        var surface = points.Max(p => p.HottestCelsius ?? p.SurfaceCelsius);
        var upper = guessed.Max(p => p.UpperCelsius ?? p.EstimateCelsius);
        var limit = day.Spot.LimitCelsius;
        var lower = guessed.Min(p => p.LowerCelsius ?? p.EstimateCelsius);
        var coldest = points.Min(p => p.ColdestCelsius ?? p.SurfaceCelsius);
        // Walkers were told of these, whatever is estimated meanwhile.
        var doubted = day.Doubted.Where(d => d.From < start.AddHours(1) && d.To > start).ToList();
        var counted = doubted.Where(d => d.IsTooHot(limit)).Max(d => d.HottestCelsius) ?? doubted.Where(d => d.IsFreezing).Min(d => d.ColdestCelsius);
        var word = GroundWords.Gravest(
            [
                GroundWords.For(surface, limit), GroundWords.For(coldest, limit), GroundWords.For(counted, limit),
                GroundWords.ForEstimate(lower, upper, limit, !day.NeverMeasured),
            ]);
        return new(MomentTexts.Clock(start, day.Spot.TimeZoneId), word)
        {
            SurfaceCelsius = word is GroundWord.Freezing or GroundWord.Bitter or GroundWord.Cold ? coldest : surface,
            Estimated = guessed.Length > 0,
            LessSure = guessed.Any(p => (p.Doubt & ~EstimateDoubt.AirGuessed) != 0 || (p.Doubt != 0 && !(p.At >= day.Coming?.From))),
            LowerCelsius = lower,
            UpperCelsius = upper,
            DoubtedCelsius = counted,
            AirCelsius = points.Max(p => p.AirCelsius),
        };
    }
}
