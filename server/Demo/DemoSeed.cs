using Microsoft.EntityFrameworkCore;
using PavementWatch.Core.Agreement;
using PavementWatch.Core.Readings;
using PavementWatch.Core.Surfaces;
using PavementWatch.Core.Weather;
using PavementWatch.Dashboards.Checks;
using PavementWatch.Server.Checks;
using PavementWatch.Server.Database;
using PavementWatch.Server.Dogs;
using PavementWatch.Server.Gateways;
using PavementWatch.Server.People;
using PavementWatch.Server.Setup;
using PavementWatch.Server.Store;
using PavementWatch.Server.Walks;
using PavementWatch.Server.Weather;

namespace PavementWatch.Server.Demo;

/// <summary>Fills an empty server with the town: spots, gateways, people, dogs, walks and two weeks of readings.</summary>
internal sealed class DemoSeed(
    IDbContextFactory<RegistryDb> registry, SpotStore spots, GatewayStore gateways, PersonStore people, IReadingStore store, WeatherStore weather)
{
    private const int ReadingsPerBatch = 7_000;
    private const double SettingFraction = 0.95;

    private static readonly (string Spot, int DaysAgo, int Hour, int Minute, double ErrorKelvin, CheckedGround Ground)[] Rounds =
    [
        ("north-gate-plaza", 6, 9, 10, 0.4, CheckedGround.Sun),
        ("north-gate-plaza", 6, 15, 5, -0.9, CheckedGround.Sun),
        ("north-gate-plaza", 5, 11, 40, 0.7, CheckedGround.Sun),
        ("north-gate-plaza", 5, 21, 20, -0.3, CheckedGround.Shade),
        ("north-gate-plaza", 4, 13, 30, 1.1, CheckedGround.Sun),
        ("north-gate-plaza", 3, 17, 15, -0.6, CheckedGround.Sun),
        ("north-gate-plaza", 2, 7, 45, 0.2, CheckedGround.Shade),
        ("north-gate-plaza", 2, 14, 50, -0.4, CheckedGround.Sun),
        ("north-gate-plaza", 1, 12, 25, 0.5, CheckedGround.Sun),
        ("quarry-steps", 3, 16, 50, 0.8, CheckedGround.Sun),
        ("quarry-steps", 2, 15, 20, -0.5, CheckedGround.Sun),
        ("quarry-steps", 1, 12, 50, 0.3, CheckedGround.Sun),
    ];

    /// <summary>Does all of it; the tables are made first, since nothing else has started yet.</summary>
    public async Task<DemoPeople> FillAsync(
        DemoDay day, DemoGround ground, IReadOnlyDictionary<string, string> gatewaySecrets, CancellationToken cancellationToken)
    {
        await using (var db = await registry.CreateDbContextAsync(cancellationToken))
            await db.Database.MigrateAsync(cancellationToken);
        foreach (var spot in DemoTown.Spots)
            await spots.AddSpotAsync(spot.Spot, cancellationToken);
        foreach (var (gateway, secret) in gatewaySecrets)
        {
            SpotId[] watched = [.. DemoTown.Spots.Where(spot => spot.Gateway == gateway).Select(spot => spot.Spot.Id)];
            await gateways.SetGatewayAsync(GatewayId.Parse(gateway), secret, watched, cancellationToken);
        }

        var team = await AddPeopleAsync(day, cancellationToken);
        await AppendHistoryAsync(day, ground, cancellationToken);
        await AddChecksAsync(day, ground, team.OdileId, cancellationToken);
        await AddWeatherAsync(day, cancellationToken);
        return team;
    }

    /// <summary>The mast on the town hall up to the morning, and the forecast of two hours before: ten days in whole degrees.</summary>
    private async Task AddWeatherAsync(DemoDay day, CancellationToken cancellationToken)
    {
        var mast = Enumerable.Range(0, DemoTown.PastDays * 24 + 1).Select(hour =>
        {
            var at = day.Morning.AddDays(-DemoTown.PastDays).AddHours(hour);
            // Readings are taken every minute; the middle of the hour is near enough to its mean for a mast nobody built.
            var sky = day.At(at.AddMinutes(-30));
            return new WeatherValues(at)
            {
                WindMetersPerSecond = Math.Round(sky.WindMetersPerSecond, 1),
                SolarWattsPerSquareMeter = Math.Round(sky.SolarWattsPerSquareMeter),
            };
        });
        await weather.StoreAsync(new WeatherOrigin("", WeatherKind.Observed, day.Morning), [.. mast], cancellationToken);
        var forecast = Enumerable.Range(-2, 10 * 24).Select(hour =>
        {
            var at = day.Morning.AddHours(hour);
            return new WeatherValues(at) { AirCelsius = Math.Round(day.At(at).AirCelsius + 0.4) };
        });
        await weather.StoreAsync(
            new WeatherOrigin("", WeatherKind.Forecast, day.Morning.AddHours(-2)), [.. forecast], cancellationToken);
    }

    /// <summary>Odile's rounds of the last days with a thermometer that is honest to a kelvin or so.</summary>
    private async Task AddChecksAsync(DemoDay day, DemoGround ground, int odile, CancellationToken cancellationToken)
    {
        await using var db = await registry.CreateDbContextAsync(cancellationToken);
        foreach (var (spot, daysAgo, hour, minute, errorKelvin, sky) in Rounds)
        {
            var at = day.Clock(daysAgo, hour, minute);
            db.SpotChecks.Add(new SpotCheckRow
            {
                SpotId = spot,
                At = at,
                ShownCelsius = Math.Round(Shown(spot, at, sky) + errorKelvin, 1),
                EmissivityFraction = SettingFraction,
                Ground = sky,
                PersonId = odile,
                EnteredAt = at,
                Instrument = "Handy 2",
                Note = daysAgo == 1 ? "round of Monday" : "",
            });
        }

        await db.SaveChangesAsync(cancellationToken);

        // The ground reflects the sky, which the thermometer does not know of.
        double Shown(string spot, DateTimeOffset at, CheckedGround sky)
        {
            var (surface, weather) = (ground.SurfaceCelsius(SpotId.Parse(spot), at), day.At(at));
            var of = DemoTown.Spots.Single(known => known.Spot.Id.Value == spot).Spot;
            var reflected = ReflectedSky.Celsius(
                HandHeldReading.Band, weather.AirCelsius, VapourPressure.Hectopascals(weather.AirCelsius, weather.HumidityPercent),
                sky == CheckedGround.Shade ? 0 : ReflectedSky.UsualOpenSkyFraction);
            return HandHeldReading.ShownCelsius(surface, SettingFraction, of.SurfaceEmissivityFraction(), weather.AirCelsius, reflected);
        }
    }

    private async Task<DemoPeople> AddPeopleAsync(DemoDay day, CancellationToken cancellationToken)
    {
        var business = await people.AddAsync("Ferngate Walks", Role.Business, cancellationToken);
        var ines = await people.AddAsync("Ines", Role.Walker, cancellationToken);
        var tobias = await people.AddAsync("Tobias", Role.Walker, cancellationToken);
        var odile = await people.AddAsync("Odile", Role.Analyst, cancellationToken);

        await using var db = await registry.CreateDbContextAsync(cancellationToken);
        var pickle = new DogRow { Name = "Pickle", WeightKilograms = 8, BornOn = new DateOnly(2021, 5, 3), FlatFaced = true };
        var boulder = new DogRow { Name = "Boulder", WeightKilograms = 54, BornOn = new DateOnly(2017, 3, 20) };
        var wren = new DogRow { Name = "Wren", WeightKilograms = 14, BornOn = new DateOnly(2024, 6, 1) };
        db.Dogs.AddRange(pickle, boulder, wren);
        await db.SaveChangesAsync(cancellationToken);

        Dictionary<string, int> dogs = new[] { pickle, boulder, wren }.ToDictionary(d => d.Name, d => d.Id);
        var walkers = new Dictionary<string, int> { ["Ines"] = ines.Id, ["Tobias"] = tobias.Id };
        db.Walks.AddRange(day.Walks.Select(walk => new WalkRow
        {
            DogId = dogs[walk.Dog],
            WalkerId = walkers[walk.Walker],
            Start = day.Clock(0, walk.Hour, walk.Minute),
            Minutes = walk.Minutes,
            Note = walk.Note,
            Spots = [.. walk.Spots.Select((spot, position) => new WalkSpotRow { SpotId = spot, Position = position })],
        }));
        await db.SaveChangesAsync(cancellationToken);
        return new DemoPeople(business.Id, ines.Id, tobias.Id, odile.Id, pickle.Id);
    }

    private async Task AppendHistoryAsync(DemoDay day, DemoGround ground, CancellationToken cancellationToken)
    {
        var batch = new List<StoredReading>(ReadingsPerBatch);
        for (var at = day.Morning.AddDays(-DemoTown.PastDays); at < day.Morning; at = at.AddMinutes(1))
        {
            var sky = day.At(at);
            foreach (var spot in DemoTown.Spots)
            {
                var reading = new Reading(spot.Spot.Id, at)
                {
                    SurfaceCelsius = Math.Round(ground.SurfaceCelsius(spot.Spot.Id, at), 2),
                    AirCelsius = Math.Round(sky.AirCelsius, 2),
                    HumidityPercent = Math.Round(sky.HumidityPercent, 1),
                };
                batch.Add(new StoredReading(reading, at));
            }

            if (batch.Count >= ReadingsPerBatch)
            {
                await store.AppendAsync(batch, cancellationToken);
                batch.Clear();
            }
        }

        await store.AppendAsync(batch, cancellationToken);
    }
}

/// <summary>Registry keys of the demo's people and of the dog whose owner gets a link.</summary>
internal sealed record DemoPeople(int BusinessId, int InesId, int TobiasId, int OdileId, int PickleId)
{
    /// <summary>Whom the demo prints links for, in order.</summary>
    public static readonly IReadOnlyList<string> Names = ["walker Ines", "walker Tobias", "business Ferngate Walks", "analyst Odile", "owner of Pickle"];

    /// <summary>The person's number; <c>null</c> for the owner, who has none.</summary>
    public int? NumberOf(string who) => Names.ToList().IndexOf(who) switch
    {
        0 => InesId,
        1 => TobiasId,
        2 => BusinessId,
        3 => OdileId,
        _ => null,
    };
}
