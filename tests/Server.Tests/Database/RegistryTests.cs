using Microsoft.EntityFrameworkCore;
using PavementWatch.Core.Readings;
using PavementWatch.Core.Surfaces;
using PavementWatch.Server.Checks;
using PavementWatch.Server.Database;
using PavementWatch.Server.Fitting;
using PavementWatch.Server.Gateways;
using PavementWatch.Server.Ingest;
using PavementWatch.Server.Setup;
using PavementWatch.Server.Spots;
using PavementWatch.Server.Tests.Api;

namespace PavementWatch.Server.Tests.Database;

public sealed class RegistryTests
{
    private static CancellationToken Cancel => TestContext.Current.CancellationToken;

    [Fact]
    public async Task The_migrations_make_the_very_tables_the_model_wants()
    {
        await using var server = await RunningServer.StartAsync();
        await using var db = await server.Get<IDbContextFactory<RegistryDb>>().CreateDbContextAsync(Cancel);

        Assert.Empty(await db.Database.GetPendingMigrationsAsync(Cancel));
        Assert.False(db.Database.HasPendingModelChanges());
    }

    [Fact]
    public async Task Who_writes_beside_another_waits_in_the_database_which_looks_again_within_milliseconds()
    {
        await using var server = await RunningServer.StartAsync();
        await using var db = await server.Get<IDbContextFactory<RegistryDb>>().CreateDbContextAsync(Cancel);

        Assert.Equal([1000L], await db.Database.SqlQueryRaw<long>("SELECT timeout AS Value FROM pragma_busy_timeout").ToListAsync(Cancel));
    }

    [Fact]
    public async Task A_spot_comes_back_as_it_was_added_and_the_order_is_the_businesss()
    {
        var turf = new Spot(SpotId.Parse("aaa-turf"), "Turf", SurfaceKind.ArtificialTurf, -33.9, 151.2, "Australia/Sydney")
        {
            Site = "Cove",
            LimitCelsius = 45.5,
            ColdLimitCelsius = 2.5,
            EmissivityFraction = 0.93,
            RadiusMeters = 120,
        };
        await using var server = await RunningServer.StartAsync(spots: [RunningServer.NorthGate, turf]);

        Assert.Equal([RunningServer.NorthGate, turf], server.Get<SpotCatalogue>().All);
        Assert.False(await server.Get<SpotStore>().AddSpotAsync(turf with { Name = "Other" }, Cancel));
        Assert.Equal("Turf", server.Get<SpotCatalogue>().Find(turf.Id)?.Name);
    }

    [Theory]
    [InlineData(90.5, -97, 49, "America/Chicago", "latitude is 90.5, expected -90 to 90 degrees")]
    [InlineData(double.NaN, -97, 49, "America/Chicago", "latitude is NaN, expected -90 to 90 degrees")]
    [InlineData(37, 181, 49, "America/Chicago", "longitude is 181, expected -180 to 180 degrees")]
    [InlineData(37, -97, 29.9, "America/Chicago", "limit is 29.9, expected 30 to 52 °C")]
    [InlineData(37, -97, 49, "Ferngate/Time", "time zone is 'Ferngate/Time', expected an IANA name such as America/Chicago")]
    [InlineData(37, 97, 49, "America/Chicago", "longitude is 97: 97.0 E is 11.5 h from America/Chicago, expected at most 3.5 h; is a minus sign missing?")]
    [InlineData(-90, -180, 52, "Antarctica/McMurdo", null)]
    public void A_spot_that_cannot_be_is_refused_by_its_field(
        double latitude, double longitude, double limit, string zone, string? fault) =>
        Assert.Equal(fault, SpotStore.Fault(
            new Spot(SpotId.Parse("x"), "X", SurfaceKind.Brick, latitude, longitude, zone) { LimitCelsius = limit }));

    [Fact]
    public async Task A_gateway_signs_in_with_its_secret_only_and_reports_on_its_spots_only()
    {
        await using var server = await RunningServer.StartAsync();
        var gateway = GatewayId.Parse("north-gate");
        await server.Get<GatewayStore>().SetGatewayAsync(gateway, "first secret", [RunningServer.NorthGate.Id], Cancel);
        var directory = server.Get<IGatewayDirectory>();

        Assert.True(await directory.MaySignInAsync("north-gate", "first secret", Cancel));
        Assert.False(await directory.MaySignInAsync("north-gate", "another", Cancel));
        Assert.False(await directory.MaySignInAsync("nobody-here", "first secret", Cancel));
        Assert.False(await directory.MaySignInAsync("nobody-here", "nobody", Cancel));
        Assert.True(await directory.KnowsSpotAsync(gateway, RunningServer.NorthGate.Id, Cancel));
        Assert.False(await directory.KnowsSpotAsync(gateway, RunningServer.QuarrySteps.Id, Cancel));

        await server.Get<GatewayStore>().SetGatewayAsync(gateway, "second secret", [RunningServer.QuarrySteps.Id], Cancel);

        Assert.False(await directory.MaySignInAsync("north-gate", "first secret", Cancel));
        Assert.True(await directory.MaySignInAsync("north-gate", "second secret", Cancel));
        Assert.False(await directory.KnowsSpotAsync(gateway, RunningServer.NorthGate.Id, Cancel));
        Assert.True(await directory.KnowsSpotAsync(gateway, RunningServer.QuarrySteps.Id, Cancel));
    }

    [Fact]
    public void The_hash_of_a_secret_matches_that_secret_only_and_is_salted()
    {
        var hash = SecretHash.Of("quarry");

        Assert.True(SecretHash.Matches("quarry", hash));
        Assert.False(SecretHash.Matches("Quarry", hash));
        Assert.NotEqual(hash, SecretHash.Of("quarry"));
    }

    [Fact]
    public async Task Moments_are_ordered_and_keep_their_milliseconds()
    {
        await using var server = await RunningServer.StartAsync();
        var early = new DateTimeOffset(2026, 7, 14, 19, 0, 0, 123, TimeSpan.Zero);
        var late = new DateTimeOffset(2026, 7, 14, 15, 0, 0, 124, TimeSpan.FromHours(-4.0 - (1 / 60.0)));
        await using var db = await server.Get<IDbContextFactory<RegistryDb>>().CreateDbContextAsync(Cancel);
        foreach (var at in new[] { late, early })
            db.SpotChecks.Add(new SpotCheckRow { SpotId = RunningServer.NorthGate.Id.Value, At = at, ShownCelsius = 51 });
        await db.SaveChangesAsync(Cancel);

        var back = await db.SpotChecks.AsNoTracking().OrderBy(c => c.At).Select(c => c.At).ToListAsync(Cancel);

        Assert.Equal([early, late], back);
    }

    [Fact]
    public async Task Two_fits_of_a_spot_cannot_both_be_in_use()
    {
        await using var server = await RunningServer.StartAsync();
        await using var db = await server.Get<IDbContextFactory<RegistryDb>>().CreateDbContextAsync(Cancel);
        server.ExpectedError = "Fits";
        foreach (var id in new[] { "one", "two" })
        {
            db.Fits.Add(new FitRow
            {
                Id = id,
                SpotId = RunningServer.NorthGate.Id.Value,
                FittedAt = RunningServer.Noon,
                Json = "{}",
                Standing = FitStanding.InUse,
                Reason = "test",
                DecidedAt = RunningServer.Noon,
            });
        }

        await Assert.ThrowsAsync<DbUpdateException>(() => db.SaveChangesAsync(Cancel));
    }
}
