using PavementWatch.Core.Alerts;
using PavementWatch.Core.Contact;
using PavementWatch.Core.Readings;
using PavementWatch.Core.Surfaces;
using PavementWatch.Dashboards.Days;
using PavementWatch.Dashboards.Spots;

namespace PavementWatch.Dashboards.Tests.Hosting;

/// <summary>The invented town: one spot for each thing a card can say, and a hot day with a silence and a cloud.</summary>
internal static class Ferngate
{
    public const string Zone = "America/Chicago";

    public static readonly DateTimeOffset Now = new(2026, 7, 14, 19, 32, 0, TimeSpan.Zero); // 14:32 in Ferngate

    public static SpotNow[] Spots(DateTimeOffset now) =>
    [
        Spot("quarry-steps", "Quarry Steps", SurfaceKind.ConcretePale, now) with
        {
            SurfaceCelsius = 57.3, AirCelsius = 36.2, MeasuredAt = now.AddMinutes(-2), Word = GroundWord.BurnsInSeconds,
            ContactTime = TimeSpan.FromSeconds(14), State = AlertState.TooHot, Changed = Change(now.AddMinutes(-112), AlertState.TooHot, AlertReason.ReadingsOverLimit, 49.3),
        },
        Spot("north-gate-plaza", "North Gate plaza", SurfaceKind.Asphalt, now) with
        {
            SurfaceCelsius = 52.4, AirCelsius = 36.1, MeasuredAt = now.AddMinutes(-1), Word = GroundWord.TooHot,
            ContactTime = TimeSpan.FromSeconds(44), State = AlertState.TooHot, Changed = Change(now.AddMinutes(-170), AlertState.TooHot, AlertReason.ReadingsOverLimit, 49.1),
        },
        Spot("mill-footbridge", "Mill Footbridge", SurfaceKind.TimberDeck, now) with
        {
            SurfaceCelsius = 46.8, AirCelsius = 35.9, MeasuredAt = now.AddMinutes(-42), Estimated = true,
            LowerCelsius = 43.1, UpperCelsius = 50.4, Word = GroundWord.TooHot, ContactTime = TimeSpan.FromSeconds(175),
            State = AlertState.Silent, Changed = Change(now.AddMinutes(-38), AlertState.Silent, AlertReason.EstimateOverLimit, 46.5),
        },
        Spot("sandpit-corner", "Sandpit Corner", SurfaceKind.Sand, now) with
        {
            Word = GroundWord.Unknown, State = AlertState.Silent,
        },
        Spot("orchard-green", "Orchard Green", SurfaceKind.Grass, now) with
        {
            SurfaceCelsius = 33.2, AirCelsius = 35.8, MeasuredAt = now.AddSeconds(-25), Word = GroundWord.Comfortable,
            ContactTime = TimeSpan.FromMinutes(10), State = AlertState.Clear, Doubt = Doubt.Wet,
        },
        Spot("mill-lane", "Mill Lane", SurfaceKind.Brick, now) with
        {
            SurfaceCelsius = 45.0, AirCelsius = 36.0, MeasuredAt = now.AddMinutes(-1), Word = GroundWord.Warm,
            ContactTime = TimeSpan.FromMinutes(10), State = AlertState.Rising, Changed = Change(now.AddMinutes(-5), AlertState.Rising, AlertReason.ForecastReachesLimit, 44.6),
        },
    ];

    private static AlertDecision Change(DateTimeOffset at, AlertState to, AlertReason because, double celsius) =>
        new(AlertState.Clear, to, because, at, Notify: true, celsius) { LimitCelsius = 49, UpperCelsius = 50.4, ReachesAt = at.AddMinutes(30) };

    public static Spot Place(SpotNow spot) =>
        new(spot.Id, spot.Name, spot.Surface, spot.LatitudeDegrees, spot.LongitudeDegrees, Zone) { Site = spot.Site };

    /// <summary>A clear day: cool night, hottest at 15:00, measured to now but for 13:00 to 13:40, estimated in the silence and ahead.</summary>
    public static SpotDay Day(Spot spot, DateOnly day, DateTimeOffset now)
    {
        var zone = TimeZoneInfo.FindSystemTimeZoneById(Zone);
        var from = Midnight(day, zone);
        var to = Midnight(day.AddDays(1), zone);
        var points = new List<DayPoint>();
        for (var at = from; at < to; at += TimeSpan.FromMinutes(5))
        {
            var hour = (at - from).TotalHours;
            var sun = Math.Max(0, Math.Sin((hour - 6.5) / 13.5 * Math.PI));
            var air = 23 + 13 * Math.Max(0, Math.Sin((hour - 8) / 15 * Math.PI));
            var surface = air - 2 + 20 * sun;
            points.Add(at > now || hour is >= 13 and < 13.66
                ? new(at, null, at > now ? null : air, surface - .8, surface - 3.4, surface + 2.9)
                : new(at, surface, air, null, null, null));
        }

        var hot = points.Where(p => (p.SurfaceCelsius ?? p.UpperCelsius) >= spot.LimitCelsius).ToList();
        TooHotSpan[] spans = hot.Count == 0 ? [] : [new(hot[0].At, hot[^1].At, Estimated: hot.Any(p => p.SurfaceCelsius is null))];
        return new(spot, day, from, to, points, spans);
    }

    private static DateTimeOffset Midnight(DateOnly day, TimeZoneInfo zone)
    {
        var local = day.ToDateTime(TimeOnly.MinValue);
        return new DateTimeOffset(local, zone.GetUtcOffset(local)).ToUniversalTime();
    }

    private static SpotNow Spot(string id, string name, SurfaceKind kind, DateTimeOffset now) =>
        new(SpotId.Parse(id), name, name.Split(' ')[0], kind, 37.4 + name.Length / 1000.0, -97.0, 49, 800)
        {
            TimeZoneId = Zone,
            Now = now,
        };
}
