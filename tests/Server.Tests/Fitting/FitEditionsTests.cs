using System.Net;
using System.Text.Json;
using Microsoft.EntityFrameworkCore;
using Microsoft.Extensions.DependencyInjection;
using PavementWatch.Dashboards.Days;
using PavementWatch.Server.Commands;
using PavementWatch.Server.Database;
using PavementWatch.Server.Fitting;
using PavementWatch.Server.Hosting;
using PavementWatch.Server.Tests.Api;
using PavementWatch.Tests;
using static PavementWatch.Server.Tests.Api.RunningServer;

namespace PavementWatch.Server.Tests.Fitting;

/// <summary>Fits that earlier editions of the program left in a registry: used, or retired with a reason; never a page that fails.</summary>
public sealed class FitEditionsTests
{
    private static CancellationToken Cancel => TestContext.Current.CancellationToken;

    [Theory]
    [InlineData("7024207", false)]
    [InlineData("b421e27", true)]
    [InlineData("098e7cd", true)]
    [InlineData("4726a66", true)]
    [InlineData("dac6356", true)]
    [InlineData("78b283f", true)]
    [InlineData("{damaged", false)]
    [InlineData("{}", false)]
    public async Task A_stored_fit_of_each_edition_estimates_or_is_retired(string edition, bool isReadable)
    {
        var json = edition.StartsWith('{') ? edition : await File.ReadAllTextAsync(
            Path.Combine(AppContext.BaseDirectory, "Fitting", "Data", $"fit-{edition}.json"), Cancel);
        await using var server = await StartAsync();
        await FirstNightAsync(server);
        await PutAsync(server, json, FitStanding.InUse, "old");
        await PutAsync(server, json, FitStanding.Waiting, "older");
        await server.MeasureAsync(Good(NorthGate, Noon, surface: null, air: 33), Good(NorthGate, Noon.AddMinutes(-90), 50));

        var book = server.Get<FitStore>();
        await book.RefreshAsync(Cancel);

        Assert.Equal(isReadable, book.InUse(NorthGate.Id) is not null);
        // None of them knows yet of ends that lie further out in heat, nor how often they held.
        Assert.All(book.InUse(NorthGate.Id)?.Parts ?? [], part => Assert.Equal((null, null), (part.Ends, part.Record)));
        await using (var db = await server.Get<IDbContextFactory<RegistryDb>>().CreateDbContextAsync(Cancel))
        {
            var row = await db.Fits.SingleAsync(f => f.Id == "old", Cancel);
            Assert.Equal(isReadable ? FitStanding.InUse : FitStanding.Retired, row.Standing);
            Assert.Equal(!isReadable, row.Reason.Contains("cannot read it", StringComparison.Ordinal));
        }

        using var analyst = await server.BrowserOfAsync(Role.Analyst);
        foreach (var page in new[] { "/analyst", "/analyst/spots/north-gate-plaza", "/spots/north-gate-plaza", "/" })
        {
            using var answer = await analyst.GetAsync(new Uri(page, UriKind.Relative), Cancel);
            Assert.True(answer.StatusCode == HttpStatusCode.OK, $"{page} of a fit of {edition}: {answer.StatusCode}");
        }

        var text = WebUtility.HtmlDecode(await analyst.GetStringAsync(new Uri("/analyst/spots/north-gate-plaza", UriKind.Relative), Cancel));
        Assert.Equal(!isReadable, text.Contains("out of use: another edition of the program wrote it", StringComparison.Ordinal));
        Assert.NotNull(await server.Get<ISpotDays>().DayAsync(NorthGate.Id, new DateOnly(2026, 7, 14), Cancel));

        // The next fit takes over, whatever was there. They are named by the second.
        server.Time.Advance(TimeSpan.FromSeconds(2));
        var made = Assert.Single(await server.Get<FitRunner>().RunAsync(NorthGate, null, Cancel));
        Assert.True(isReadable || made.Standing == FitStanding.InUse, made.Reason);
    }

    [Theory]
    // A fit that nights have not replaced says nothing of the last days any more.
    [InlineData(1, true)]
    [InlineData(100, false)]
    public async Task How_often_estimates_held_is_told_to_walkers_and_analyst(int hoursOld, bool isTold)
    {
        var plain = new Core.Offsets.OffsetModel(new Core.Offsets.OffsetOptions()).Prior(NorthGate, Noon.AddHours(-hoursOld));
        var json = FitJson.Write(plain with
        {
            Parts = [.. plain.Parts.Select(part => part with
            {
                Ends = new Core.Offsets.IntervalEnds(40, 45, 0.8, 0.2),
                Record = new Core.Offsets.IntervalRecord(30, 1440, 1311, 144, 133, 6),
            })],
        });
        await using var server = await StartAsync();
        await FirstNightAsync(server);
        await PutAsync(server, json, FitStanding.InUse, "new");
        await server.Get<FitStore>().RefreshAsync(Cancel);
        await server.MeasureAsync(Good(NorthGate, server.Time.GetUtcNow(), surface: null, air: 33), Good(NorthGate, Noon.AddMinutes(-90), 50));
        await server.SeenAsync(NorthGate, spot => spot.AirCelsius == 33);
        await server.MinuteAsync(NorthGate);
        await server.SeenAsync(NorthGate, spot => spot.Estimated);

        const string sentence = "f the estimates of the last 30 days, 91 in 100 held";
        using var analyst = await server.BrowserOfAsync(Role.Analyst);
        foreach (var page in new[] { "/", "/spots/north-gate-plaza" })
        {
            var text = WebUtility.HtmlDecode(await analyst.GetStringAsync(new Uri(page, UriKind.Relative), Cancel));
            Assert.Equal(isTold, text.Contains(sentence, StringComparison.Ordinal));
        }

        var review = WebUtility.HtmlDecode(await analyst.GetStringAsync(new Uri("/analyst/spots/north-gate-plaza", UriKind.Relative), Cancel));
        Assert.Contains("the 90 % interval held 91.0 % of", review, StringComparison.Ordinal);
        Assert.Contains("In the tenth expected hottest it held 92.4 %, and 4.2 % were over its upper end.", review, StringComparison.Ordinal);
        Assert.Contains("the upper one 1.8 times, the lower one 1.2 times as far as on other hours", review, StringComparison.Ordinal);
    }

    [Fact]
    public async Task The_fit_command_passes_over_a_fit_it_cannot_read()
    {
        var folder = Directory.CreateTempSubdirectory("pw-fits-").FullName;
        await using (var server = await StartAsync(folder))
        {
            await FirstNightAsync(server);
            await PutAsync(server, "{damaged", FitStanding.InUse, "old");
            await PutAsync(server, "{}", FitStanding.Replaced, "older");
        }

        using var output = new StringWriter();
        using var error = new StringWriter();
        var exit = await CommandLine.RunAsync(["fit", $"--Data:Folder={folder}"], output, error);

        Assert.True(exit == 0, error.ToString());
        Assert.Contains("in use, the first", output.ToString(), StringComparison.Ordinal);
        Microsoft.Data.Sqlite.SqliteConnection.ClearAllPools();
        Directory.Delete(folder, recursive: true);
    }

    [Fact]
    public async Task A_waiting_fit_that_cannot_be_read_is_not_put_into_use()
    {
        await using var server = await StartAsync();
        await PutAsync(server, "{}", FitStanding.Waiting, "old");
        using var analyst = await server.BrowserOfAsync(Role.Analyst);

        var fault = await server.Get<FitDecisions>().DecideAsync(
            NorthGate.Id, "old", accept: true, "looks fine", new System.Security.Claims.ClaimsPrincipal(), Cancel);

        Assert.Contains("cannot be read", fault, StringComparison.Ordinal);
    }

    [Fact]
    public async Task Fits_from_before_their_figures_stood_beside_them_keep_what_they_are_and_get_them()
    {
        var folder = Directory.CreateTempSubdirectory("pw-fits-").FullName;
        var json = Named(await File.ReadAllTextAsync(Path.Combine(AppContext.BaseDirectory, "Fitting", "Data", "fit-78b283f.json"), Cancel), "old");
        await using (var app = ServerApp.Build(new ServerAppOptions { DataFolder = folder }))
        {
            await using var before = await app.Services.GetRequiredService<IDbContextFactory<RegistryDb>>().CreateDbContextAsync(Cancel);
            await before.Database.MigrateAsync(before.Database.GetMigrations().TakeWhile(m => !m.EndsWith("_FitFigures", StringComparison.Ordinal)).Last(), Cancel);
            await before.Database.ExecuteSqlAsync(
                $"""
                INSERT INTO "Spots" ("Id", "Position", "Name", "Site", "Surface", "LatitudeDegrees", "LongitudeDegrees", "TimeZoneId", "LimitCelsius", "RadiusMeters")
                VALUES ({NorthGate.Id.Value}, 0, 'North Gate plaza', '', 'Asphalt', 37.4, -97, 'America/Chicago', 49, 100);
                INSERT INTO "Fits" ("Id", "SpotId", "FittedAt", "Json", "Standing", "Reason", "DecidedAt")
                VALUES ('old', {NorthGate.Id.Value}, {Noon.AddHours(-1).ToUnixTimeMilliseconds()}, {json}, 'InUse', 'test', 0),
                    ('worse', {NorthGate.Id.Value}, {Noon.AddHours(-2).ToUnixTimeMilliseconds()}, '[]', 'Waiting', 'test', 0);
                INSERT INTO "FitDecisions" ("FitId", "SpotId", "At", "PersonName", "Accepted", "Reason") VALUES ('old', {NorthGate.Id.Value}, 0, 'Odile', 1, 'looks right');
                """,
                Cancel);
        }

        await using (var server = await StartAsync(folder, spots: []))
        {
            await using var db = await server.Get<IDbContextFactory<RegistryDb>>().CreateDbContextAsync(Cancel);
            var fit = JsonSerializer.Deserialize<Core.Offsets.OffsetFit>(json)!;
            var row = await db.Fits.SingleAsync(f => f.Id == "old", Cancel);
            Assert.Equal((json, FitStanding.InUse), (row.Json, row.Standing));
            Assert.Equal((FitJson.Format, fit.SampleCount, fit.MeanOffsetKelvin, fit.ResidualScaleKelvin), (row.Format, row.SampleCount, row.MeanOffsetKelvin, row.ResidualScaleKelvin));
            var worse = await db.Fits.SingleAsync(f => f.Id == "worse", Cancel);
            Assert.Equal((FitJson.Format, null, null), (worse.Format, worse.SampleCount, worse.MeanOffsetKelvin));
            Assert.Equal("looks right", Assert.Single(await server.Get<FitDecisions>().OfAsync(NorthGate.Id, Cancel)).Reason);
        }

        Directory.Delete(folder, recursive: true);
    }

    /// <summary>Lets the night make its first fit and takes that away, so that no other comes while one of before is looked at.</summary>
    private static async Task FirstNightAsync(RunningServer server)
    {
        await server.MinuteAsync(NorthGate);
        await Patience.UntilAsync(() => server.Get<FitStore>().InUse(NorthGate.Id) is not null, () => "the night made no fit");
        await using var db = await server.Get<IDbContextFactory<RegistryDb>>().CreateDbContextAsync(Cancel);
        await db.Fits.Where(f => f.SpotId == NorthGate.Id.Value).ExecuteDeleteAsync(Cancel);
        await server.Get<FitStore>().RefreshAsync(Cancel);
    }

    private static async Task PutAsync(RunningServer server, string json, FitStanding standing, string id)
    {
        await using var db = await server.Get<IDbContextFactory<RegistryDb>>().CreateDbContextAsync(Cancel);
        // Newer than the nightly time, so that no new fit takes its place while it is looked at.
        db.Fits.Add(new FitRow
        {
            Id = id,
            SpotId = NorthGate.Id.Value,
            FittedAt = Noon.AddHours(-1),
            Json = Named(json, id),
            Standing = standing,
            Reason = "test",
            DecidedAt = Noon.AddHours(-1),
        });
        await db.SaveChangesAsync(Cancel);
    }

    private static string Named(string json, string id)
    {
        if (!json.StartsWith("{\"Id\"", StringComparison.Ordinal))
            return json;
        var fit = System.Text.Json.Nodes.JsonNode.Parse(json)!;
        fit["Id"] = id;
        return fit.ToJsonString(new JsonSerializerOptions());
    }
}
