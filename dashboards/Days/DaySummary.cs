using PavementWatch.Core.Contact;
using PavementWatch.Core.Readings;
using PavementWatch.Core.Team;
using PavementWatch.Dashboards.Texts;

namespace PavementWatch.Dashboards.Days;

/// <summary>A day's curve in sentences: what the picture shows, for those who cannot see it or have no time to.</summary>
internal static class DaySummary
{
    /// <summary>A silence shorter than this is not worth a sentence.</summary>
    private static readonly TimeSpan ShortSilence = TimeSpan.FromMinutes(10);

    /// <summary>More silences than this are told as a sum.</summary>
    private const int MostSilences = 3;

    /// <summary>The sentences, most important first.</summary>
    /// <param name="day">The day.</param>
    /// <param name="now">Tells what was from what is expected.</param>
    /// <param name="unit">Who reads it wants this.</param>
    public static IReadOnlyList<string> Sentences(SpotDay day, DateTimeOffset now, TemperatureUnit unit)
    {
        if (day.Points.Count == 0)
            return ["No readings and no estimates for this day: nothing is known about it.", .. Dose(day), .. Walk(day)];

        // Where there is ice and no heat, the ice comes first.
        List<string> freezing = [.. Freezing(day, unit)];
        IEnumerable<string> first = day.TooHot.Count == 0 ? [.. freezing, .. TooHot(day, now), .. Dose(day)] : [.. TooHot(day, now), .. Dose(day), .. freezing];
        return [.. first, .. Hottest(day, unit), .. Record(day), .. Air(day, unit), .. Silences(day, now), .. InDoubt(day, unit), .. Coming(day, now), .. Doubts(day), .. Walk(day)];
    }

    /// <summary>What a walk's ground adds up to, on days of its spots; <c>null</c> where it is none of the heat that hurts and ice is what matters.</summary>
    public static string? Dose(WalkDose dose, string dog, IReadOnlyList<SpotDay> days) =>
        WalkDoseTexts.IsNothing(dose) && days.Any(day => Cold(day).Any()) ? null : WalkDoseTexts.Of(dose, dog, days[0].Spot.TimeZoneId);

    private static IEnumerable<string> TooHot(SpotDay day, DateTimeOffset now)
    {
        if (day.TooHot.Count == 0)
        {
            yield return day.NeverMeasured ? "Unknown: nothing was ever measured here; treat it as too hot until your hand has told you otherwise."
                : now >= day.To ? "Not too hot at any time that was measured or estimated."
                : now <= day.From ? "Not expected to be too hot."
                : day.Points[^1].At > now ? "Not too hot so far, and not expected to be later."
                : "Not too hot so far; nothing is known of the hours ahead.";
        }

        foreach (var span in Joined(day.TooHot))
        {
            var (from, to) = (Clock(day, span.From), Clock(day, span.To));
            var partly = span.Estimated ? ", in part or whole by estimate" : "";
            yield return span.From > now ? $"Expected to be too hot from {from} to {to}."
                : span.To > now ? $"Too hot since {from}{partly}; expected until {to}."
                : $"Too hot from {from} to {to} ({Spans.Length(span.To - span.From)}{partly}).";
        }
    }

    // Measured and estimated spans are drawn apart; of one heat that goes on there is one sentence.
    private static List<TooHotSpan> Joined(IReadOnlyList<TooHotSpan> spans)
    {
        var joined = new List<TooHotSpan>();
        foreach (var span in spans)
        {
            if (joined.Count > 0 && span.From <= joined[^1].To)
                joined[^1] = joined[^1] with { To = span.To > joined[^1].To ? span.To : joined[^1].To, Estimated = joined[^1].Estimated || span.Estimated };
            else
                joined.Add(span);
        }

        return joined;
    }

    private static IEnumerable<string> Freezing(SpotDay day, TemperatureUnit unit)
    {
        var cold = Cold(day).OrderBy(c => c.At).ToList();
        if (cold.Count == 0)
            yield break;
        var (from, to) = (Clock(day, cold[0].At), Clock(day, cold[^1].At));
        yield return $"At or under freezing {(from == to ? $"at {from}" : $"at times from {from} to {to}")}, down to {GroundTexts.InSentence(cold.Min(p => p.Celsius!.Value), day.Spot.LimitCelsius, unit)}: it may be icy.";
    }

    // Of what is estimated the lower end counts; of what is in doubt, what walkers were told of.
    private static IEnumerable<(DateTimeOffset At, double? Celsius)> Cold(SpotDay day) =>
        day.Points.Select(p => (p.At, Celsius: p.ColdestCelsius ?? p.SurfaceCelsius ?? p.LowerCelsius ?? p.EstimateCelsius))
            .Where(p => p.Celsius <= GroundWords.FreezingUpToCelsius)
            .Concat(day.Doubted.Where(d => d.IsFreezing).SelectMany(d => new[] { (d.From, d.ColdestCelsius), (d.To, d.ColdestCelsius) }));

    private static IEnumerable<string> Hottest(SpotDay day, TemperatureUnit unit)
    {
        var measured = day.Points.MaxBy(HottestMeasured);
        var hottest = measured is null ? null : HottestMeasured(measured);
        if (measured is not null && hottest is { } top)
            yield return $"Hottest measured: {GroundTexts.InSentence(top, day.Spot.LimitCelsius, unit)} at {Clock(day, measured.At)}.";

        var estimated = day.Points.Where(p => p.SurfaceCelsius is null && p.EstimateCelsius is not null)
            .MaxBy(p => p.EstimateCelsius);
        if (estimated?.EstimateCelsius is { } guess && !(guess <= hottest))
        {
            var interval = estimated is { LowerCelsius: { } lower, UpperCelsius: { } upper }
                ? $", nine times in ten {Temperatures.Interval(lower, upper, unit)}"
                : "";
            yield return $"Hottest estimated: {GroundTexts.InSentence(guess, day.Spot.LimitCelsius, unit)} at {Clock(day, estimated.At)}{interval}.";
        }
    }

    // A mean hides the peak that walkers were told of.
    private static double? HottestMeasured(DayPoint point) => point.HottestCelsius ?? point.SurfaceCelsius;

    private static IEnumerable<string> Record(SpotDay day)
    {
        if (day.Record is { } record && day.Points.Any(p => p.EstimateCelsius is not null))
            yield return $"O{RecordTexts.Of(record)[1..]}.";
    }

    private static IEnumerable<string> Air(SpotDay day, TemperatureUnit unit)
    {
        if (day.Points.MaxBy(p => p.AirCelsius) is { AirCelsius: { } air } at)
            yield return $"Air up to {Temperatures.InSentence(air, unit)} at {Clock(day, at.At)}.";
    }

    private static IEnumerable<string> Silences(SpotDay day, DateTimeOffset now)
    {
        var end = now < day.To ? now : day.To;
        var times = day.Points.Where(p => p.SurfaceCelsius is not null && p.At < end).Select(p => p.At).ToList();
        var gaps = times.Prepend(day.From).Zip(times.Append(end), (from, to) => (from, to))
            .Where(g => g.to - g.from >= ShortSilence && !IsInDoubt(day, g.from, g.to)).ToList();
        if (gaps.Count > MostSilences)
        {
            var together = TimeSpan.FromTicks(gaps.Sum(g => (g.to - g.from).Ticks));
            return [$"No reading in {gaps.Count} spans, together {Spans.Length(together)}."];
        }

        return gaps.Select(g => $"No reading from {Clock(day, g.from)} to {Clock(day, g.to)}.");
    }

    // It was measured then; what is said is why that does not count.
    private static bool IsInDoubt(SpotDay day, DateTimeOffset from, DateTimeOffset to) =>
        TimeSpan.FromTicks(day.Doubted.Where(d => d.From < to && d.To > from).Sum(d => (Earlier(d.To, to) - Later(d.From, from)).Ticks)) >= (to - from) / 2;

    private static DateTimeOffset Earlier(DateTimeOffset one, DateTimeOffset other) => one < other ? one : other;

    private static DateTimeOffset Later(DateTimeOffset one, DateTimeOffset other) => one > other ? one : other;

    private static IEnumerable<string> InDoubt(SpotDay day, TemperatureUnit unit)
    {
        if (day.Doubted.Count > MostSilences)
        {
            var all = day.Doubted[0] with
            {
                To = day.Doubted[^1].To,
                Doubt = day.Doubted.Aggregate(Doubt.None, (all, d) => all | d.Doubt),
                HottestCelsius = day.Doubted.Max(d => d.HottestCelsius),
                ColdestCelsius = day.Doubted.Min(d => d.ColdestCelsius),
            };
            yield return $"Readings in doubt at times {Counted(day, all, unit)}";
            yield break;
        }

        foreach (var span in day.Doubted)
            yield return $"Readings in doubt {Counted(day, span, unit)}";
    }

    private static string Counted(SpotDay day, DoubtedSpan span, TemperatureUnit unit)
    {
        var counts = span.IsTooHot(day.Spot.LimitCelsius)
            ? $"up to {GroundTexts.InSentence(span.HottestCelsius!.Value, day.Spot.LimitCelsius, unit)}, taken as too hot"
            : span.IsFreezing ? $"down to {GroundTexts.InSentence(span.ColdestCelsius!.Value, day.Spot.LimitCelsius, unit)}, taken as freezing"
            : "which do not count";
        return $"from {Clock(day, span.From)} to {Clock(day, span.To)}, {counts}: {DoubtTexts.Of(span.Doubt)}.";
    }

    private static IEnumerable<string> Coming(SpotDay day, DateTimeOffset now)
    {
        if (day.Coming is not { } coming)
            yield break;
        if (coming.Forecast is not { } forecast)
        {
            yield return "The hours ahead: no forecast is at hand, so the air is taken to repeat its last day.";
            yield break;
        }

        var zone = day.Spot.TimeZoneId;
        var newest = MomentTexts.Moment(forecast.NewestIssue, now, zone);
        var issue = forecast.OldestIssue == forecast.NewestIssue
            ? $"the forecast of {newest}"
            : $"the forecasts of {MomentTexts.Moment(forecast.OldestIssue, now, zone)} to {newest}";
        var more = (forecast.WithWind, forecast.WithSun) switch
        {
            (true, true) => ", with its wind and sun",
            (true, false) => ", with its wind",
            (false, true) => ", with its sun",
            _ => "",
        };
        var span = coming.AllForecast ? "" : $" from {Clock(day, forecast.From)} to {Clock(day, forecast.Until)}; for the rest it is taken to repeat its last day";
        yield return $"The hours ahead: air from {issue}{more}{span}.";
    }

    private static IEnumerable<string> Doubts(SpotDay day)
    {
        var estimates = day.Points.Where(p => p.SurfaceCelsius is null && p.EstimateCelsius is not null).ToList();
        // Where the air of the hours ahead is from has been said.
        foreach (var doubt in DayDoubt.Of(day).Where(d => !(d.Kind == "airGuessed" && d.From >= day.Coming?.From)).GroupBy(d => d.Kind))
        {
            var spans = doubt.ToList();
            var when = spans[0].From == estimates[0].At && spans[^1].To == estimates[^1].At && spans.Count == 1 ? "Wherever it is estimated"
                : spans.Count > MostSilences ? $"At times from {Clock(day, spans[0].From)} to {Clock(day, spans[^1].To)}"
                : string.Join(" and ", spans.Select(s => s.From == s.To ? $"at {Clock(day, s.From)}" : $"from {Clock(day, s.From)} to {Clock(day, s.To)}"));
            yield return $"{char.ToUpperInvariant(when[0])}{when[1..]} the estimate is less sure: {spans[0].Text}.";
        }
    }

    private static IEnumerable<string> Dose(SpotDay day)
    {
        if (day.Walk is { Dose: { } dose } walk && Dose(dose, walk.Dog, [day]) is { } sentence)
            yield return sentence;
    }

    private static IEnumerable<string> Walk(SpotDay day)
    {
        if (day.Walk is { } walk)
            yield return $"{walk.Dog}'s walk, {Clock(day, walk.From)} to {Clock(day, walk.To)}: {walk.Note}";
    }

    private static string Clock(SpotDay day, DateTimeOffset at) => MomentTexts.Clock(at, day.Spot.TimeZoneId);
}
