using PavementWatch.Core.Offsets;
using PavementWatch.Core.Readings;
using PavementWatch.Core.Surfaces;
using PavementWatch.Core.Weather;
using PavementWatch.Server.Store;
using PavementWatch.Server.Weather;
using static PavementWatch.Server.Tests.Api.RunningServer;

namespace PavementWatch.Server.Tests.Watch;

/// <summary>A site with all kinds of readings, and its weather put together step by step, as it is said to be: slow, and with nothing kept.</summary>
internal sealed class PlainTown
{
    private static readonly long StepTicks = SpotWeather.Step.Ticks;

    private PlainTown(DateTimeOffset now, List<Spot> spots, Dictionary<SpotId, List<Reading>> readings, PlaceWeather place) =>
        (Now, Spots, Readings, Place) = (now, spots, readings, place);

    public DateTimeOffset Now { get; }

    public List<Spot> Spots { get; }

    public Dictionary<SpotId, List<Reading>> Readings { get; }

    public PlaceWeather Place { get; }

    public static PlainTown Of(Random random, DateTimeOffset now)
    {
        List<Spot> spots = [.. Enumerable.Range(0, 6).Select(i => NorthGate with { Id = SpotId.Parse($"spot-{i}") })];
        // The first has everything; one has no air, one no humidity, one is silent for hours, one is mostly in doubt, one is new.
        var readings = spots.ToDictionary(s => s.Id, _ => new List<Reading>());
        for (var at = now.AddDays(-3).AddHours(-1); at <= now; at = at.AddSeconds(240 + random.Next(120)))
        {
            Take(0, r => r);
            Take(1, r => r with { AirCelsius = null, HumidityPercent = null });
            Take(2, r => r with { HumidityPercent = random.Next(3) == 0 ? r.HumidityPercent : null });
            if (at < now.AddHours(-9) || at > now.AddHours(-3))
                Take(3, r => r);
            Take(4, r => r with { Quality = ReadingQuality.Suspect, Doubt = random.Next(2) == 0 ? Doubt.Disagrees : Doubt.OutOfRange });
            if (at > now.AddHours(-20) && random.Next(4) == 0)
                Take(5, r => r with { SurfaceCelsius = random.Next(2) == 0 ? null : r.SurfaceCelsius });

            void Take(int number, Func<Reading, Reading> change)
            {
                var spot = spots[number];
                readings[spot.Id].Add(change(Good(spot, at, 20 + 30 * random.NextDouble(), 10 + 20 * random.NextDouble()) with { HumidityPercent = 100 * random.NextDouble() }));
            }
        }

        if (random.Next(3) == 0)
            readings[spots[0].Id].RemoveAll(r => r.MeasuredAt > now.AddHours(-2));
        return new PlainTown(now, spots, readings, random.Next(4) == 0 ? PlaceWeather.None : PlaceWeather.Of("", [.. Rows(random, now)], null));
    }

    public SpotWeather WeatherOf(Spot spot, TimeSpan ahead)
    {
        var own = Steps(spot);
        List<ReadingStep> lent = [];
        if (own.Values.Count(s => s is { AirCelsius: not null, HumidityPercent: not null }) < SpotEstimation.Reach.Ticks / StepTicks)
        {
            var all = Spots.ConvertAll(Steps);
            for (var number = Newest - SpotEstimation.Reach.Ticks / StepTicks + 1; number <= Newest + 1; number++)
            {
                var there = all.Select(steps => steps.GetValueOrDefault(number)).OfType<ReadingStep>().ToList();
                var (air, humidity, mine) = (there.Average(s => s.AirCelsius), there.Average(s => s.HumidityPercent), own.GetValueOrDefault(number));
                if (mine?.AirCelsius is null ? air is null : mine.HumidityPercent is not null || humidity is null)
                    continue;
                lent.Add(new ReadingStep(mine?.End ?? there.Max(s => s.End), 1, 1) { AirCelsius = air, HumidityPercent = humidity });
            }
        }

        return SiteWeather.Combine([.. own.OrderBy(s => s.Key).Select(s => s.Value)], [lent], Place, Now - SpotEstimation.Reach, Now, Now + ahead);
    }

    private long Newest => Now.UtcTicks / StepTicks;

    private Dictionary<long, ReadingStep> Steps(Spot spot) => Readings[spot.Id].Where(r => r.HasSoundAir)
        .GroupBy(r => (r.MeasuredAt.UtcTicks - 1) / StepTicks + 1)
        .Where(step => step.Key > Newest - SpotEstimation.Reach.Ticks / StepTicks && step.Key <= Newest + 1)
        .ToDictionary(step => step.Key, step => new ReadingStep(step.Key > Newest ? step.Max(r => r.MeasuredAt) : new DateTimeOffset(step.Key * StepTicks, TimeSpan.Zero), 1, 1)
        {
            SurfaceCelsius = step.Where(r => r.Quality == ReadingQuality.Good).Average(r => r.SurfaceCelsius),
            AirCelsius = step.Average(r => r.AirCelsius),
            HumidityPercent = step.Average(r => r.HumidityPercent),
        });

    private static IEnumerable<WeatherRow> Rows(Random random, DateTimeOffset now)
    {
        var hour = new DateTimeOffset(now.UtcTicks - now.UtcTicks % TimeSpan.TicksPerHour, TimeSpan.Zero);
        var (hasStation, hasForecast, hasAir) = (random.Next(4) > 0, random.Next(4) > 0, random.Next(4) > 0);
        for (var at = hour.AddHours(-80); at < hour.AddHours(12); at = at.AddHours(1))
        {
            if (at < hour.AddHours(-random.Next(2)) && hasStation && random.Next(6) > 0)
                yield return Row(at, WeatherKind.Observed, hasAir);
            if (at > hour.AddHours(-30) && hasForecast && random.Next(6) > 0)
                yield return Row(at, WeatherKind.Forecast, true);
        }

        WeatherRow Row(DateTimeOffset at, WeatherKind kind, bool withAir) => new()
        {
            Site = "",
            Kind = kind,
            At = at,
            StoredAt = at,
            IssuedAt = kind == WeatherKind.Forecast ? hour.AddHours(-random.Next(9)) : null,
            AirCelsius = withAir ? 30 * random.NextDouble() : null,
            HumidityPercent = random.Next(3) == 0 ? null : 100 * random.NextDouble(),
            WindMetersPerSecond = random.Next(5) == 0 ? null : 9 * random.NextDouble(),
            SolarWattsPerSquareMeter = random.Next(5) == 0 ? null : 900 * random.NextDouble(),
        };
    }
}
