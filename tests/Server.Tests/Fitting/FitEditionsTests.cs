using System.Net;
using System.Text.Json;
using Microsoft.EntityFrameworkCore;
using Microsoft.Extensions.DependencyInjection;
using PavementWatch.Dashboards.Days;
using PavementWatch.Server.Commands;
using PavementWatch.Server.Database;
using PavementWatch.Server.Fitting;
using PavementWatch.Server.Hosting;
using PavementWatch.Server.Spots;
using PavementWatch.Server.Tests.Api;
using PavementWatch.Tests;
using static PavementWatch.Server.Tests.Api.RunningServer;

namespace PavementWatch.Server.Tests.Fitting;

/// <summary>Fits that earlier editions of the program left in a registry: used, or retired with a reason; never a page that fails.</summary>
public sealed class FitEditionsTests
{
    /// <summary>The kept one of the edition in use.</summary>
    private const string InUseNow = "4c76ddc";

    private static CancellationToken Cancel => TestContext.Current.CancellationToken;

    [Theory]
    [InlineData("7024207", false)]
    [InlineData("b421e27", true)]
    [InlineData("098e7cd", true)]
    [InlineData("4726a66", true)]
    [InlineData("dac6356", true)]
    [InlineData("78b283f", true)]
    [InlineData("a21ca74", true)]
    [InlineData(InUseNow, true)]
    [InlineData("{damaged", false)]
    [InlineData("{}", false)]
    public async Task A_stored_fit_of_each_edition_estimates_or_is_retired(string edition, bool isReadable)
    {
        var json = edition.StartsWith('{') ? edition : await KeptAsync(edition);
        await using var server = await StartAsync();
        await FirstNightAsync(server);
        await PutAsync(server, json, FitStanding.InUse, "old");
        await PutAsync(server, json, FitStanding.Waiting, "older");
        await server.MeasureAsync(Good(NorthGate, Noon, surface: null, air: 33), Good(NorthGate, Noon.AddMinutes(-90), 50));

        var book = server.Get<FitStore>();
        await book.RefreshAsync(Cancel);

        Assert.Equal(isReadable, book.InUse(NorthGate.Id) is not null);
        // Those of before know nothing yet of ends that lie further out in heat, nor how often they held.
        Assert.All(book.InUse(NorthGate.Id)?.Parts ?? [], part => Assert.Equal((edition is "a21ca74" or InUseNow, edition is "a21ca74" or InUseNow), (part.Ends is not null, part.Record is not null)));
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
        Assert.True(isReadable || made.Standing == FitStanding.InUse, $"{made.Judgement}");
    }

    [Theory]
    [InlineData("78b283f", false)]
    [InlineData("a21ca74", true)]
    [InlineData(InUseNow, true)]
    public async Task A_stored_fit_of_the_edition_in_use_estimates_by_its_own_parts_and_one_of_before_by_the_handbook(string edition, bool isByItsOwn)
    {
        await using var server = await StartAsync();
        await FirstNightAsync(server);
        await PutAsync(server, await KeptAsync(edition), FitStanding.InUse, "kept");
        await server.Get<FitStore>().RefreshAsync(Cancel);
        // So long ago that nothing of it is left in an estimate; then air alone, as of an afternoon in its history.
        var now = server.Time.GetUtcNow();
        var readings = Enumerable.Range(0, 61).Select(i => Good(NorthGate, now.AddMinutes(-600 + (10 * i)), surface: null, air: 22 + (i / 6.0)))
            .Prepend(Good(NorthGate, now.AddHours(-30), 24, 20)).ToList();
        await server.MeasureAsync(readings);
        await server.SeenAsync(NorthGate, spot => spot.AirCelsius == 32);
        await server.MinuteAsync(NorthGate);
        var shown = await server.SeenAsync(NorthGate, spot => spot.Estimated);

        var fit = server.Get<FitStore>().InUse(NorthGate.Id)!;
        var model = new Core.Offsets.OffsetModel(new Core.Offsets.OffsetOptions());
        var weather = readings.ConvertAll(r => new Core.Weather.WeatherSample(r.MeasuredAt, r.AirCelsius!.Value)
        {
            HumidityPercent = r.HumidityPercent,
            SurfaceCelsius = r.SurfaceCelsius,
        });
        double By(Core.Offsets.OffsetFit by) => model.Estimate(by, NorthGate, weather, [shown.Now])[0].SurfaceCelsius;
        var (expected, handbook) = (By(fit), By(model.Prior(NorthGate, now)));
        Assert.Equal(isByItsOwn, fit.IsInForce);
        Assert.Equal(expected, shown.SurfaceCelsius!.Value, 0.5);
        // The kept one of now is of ground in shade, a few kelvin over the air; the handbook's asphalt lies in the sun.
        Assert.True(isByItsOwn ? handbook - expected > 8 : handbook == expected, $"expected {expected}, by the handbook {handbook}");
    }

    [Fact]
    public async Task A_fit_as_it_is_written_now_is_among_those_kept()
    {
        List<OffsetNames> kept = [];
        foreach (var path in Directory.GetFiles(Path.Combine(AppContext.BaseDirectory, "Fitting", "Data"), "fit-*.json"))
        {
            var json = System.Text.Json.Nodes.JsonNode.Parse(await File.ReadAllTextAsync(path, Cancel))!;
            kept.Add(new OffsetNames(Path.GetFileName(path), (int?)json["Edition"] ?? 1, NamesIn(json, "")));
        }

        var edition = new Core.Offsets.OffsetModel(new Core.Offsets.OffsetOptions()).Prior(NorthGate, Noon).Edition;
        var written = NamesOf(typeof(Core.Offsets.OffsetFit), "");
        Assert.True(
            kept.Exists(one => one.Edition == edition && one.Names.SetEquals(written)),
            $"keep a fit of edition {edition} with {string.Join(' ', written.Order())}: write it as Data/README.md says. There are: "
            + string.Join("; ", kept.Select(one => $"{one.File}, edition {one.Edition}, without {string.Join(' ', written.Except(one.Names).Order())}")));
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
    public async Task A_fit_of_an_earlier_time_is_read_once_and_not_found_any_more_when_it_is_taken_out_of_use()
    {
        await using var server = await StartAsync();
        await PutAsync(server, await File.ReadAllTextAsync(Path.Combine(AppContext.BaseDirectory, "Fitting", "Data", "fit-78b283f.json"), Cancel), FitStanding.Replaced, "old");
        var fits = server.Get<FitStore>();

        var read = await fits.AtAsync(NorthGate.Id, Noon.AddDays(-2), Cancel);

        Assert.Equal("old", read?.Id);
        Assert.Same(read, await fits.AtAsync(NorthGate.Id, Noon.AddDays(-2), Cancel));
        await using var db = await server.Get<IDbContextFactory<RegistryDb>>().CreateDbContextAsync(Cancel);
        await db.Fits.Where(f => f.Id == "old").ExecuteUpdateAsync(f => f.SetProperty(x => x.Standing, FitStanding.Retired), Cancel);
        Assert.NotSame(read, await fits.AtAsync(NorthGate.Id, Noon.AddDays(-2), Cancel));
    }

    [Fact]
    public async Task Fits_whose_figures_another_format_read_keep_what_they_are_and_get_them_anew()
    {
        var folder = Directory.CreateTempSubdirectory("pw-fits-").FullName;
        var json = Named(await File.ReadAllTextAsync(Path.Combine(AppContext.BaseDirectory, "Fitting", "Data", "fit-78b283f.json"), Cancel), "old");
        await using (var app = ServerApp.Build(new ServerAppOptions { DataFolder = folder }))
        {
            await using var before = await app.Services.GetRequiredService<IDbContextFactory<RegistryDb>>().CreateDbContextAsync(Cancel);
            await before.Database.MigrateAsync(Cancel);
            before.Set<SpotRow>().Add(SpotRow.Of(NorthGate, 0));
            before.Fits.AddRange(
                Kept("old", Noon.AddHours(-1), FitStanding.InUse, json, FitJson.Format - 1, steps: null), Kept("worse", Noon.AddHours(-2), FitStanding.Waiting, "[]", FitJson.Format + 1, steps: 12));
            before.FitDecisions.Add(new FitDecisionRow { FitId = "old", SpotId = NorthGate.Id.Value, At = Noon, PersonName = "Odile", Accepted = true, Reason = "looks right" });
            await before.SaveChangesAsync(Cancel);
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

    private static FitRow Kept(string id, DateTimeOffset at, FitStanding standing, string json, int format, int? steps) => new()
    {
        Id = id,
        SpotId = NorthGate.Id.Value,
        FittedAt = at,
        Standing = standing,
        Reason = "test",
        DecidedAt = at,
        Format = format,
        SampleCount = steps,
        Json = json,
    };

    /// <summary>Every name that is written of a type, with those of what it holds.</summary>
    private static HashSet<string> NamesOf(Type type, string within)
    {
        var info = JsonSerializerOptions.Default.GetTypeInfo(Nullable.GetUnderlyingType(type) ?? type);
        return info.Kind switch
        {
            System.Text.Json.Serialization.Metadata.JsonTypeInfoKind.Object => [.. info.Properties.Where(p => p.Get is not null)
                .SelectMany(p => NamesOf(p.PropertyType, $"{within}/{p.Name}").Append($"{within}/{p.Name}"))],
            System.Text.Json.Serialization.Metadata.JsonTypeInfoKind.Enumerable => NamesOf(info.ElementType!, within),
            _ => [],
        };
    }

    private static HashSet<string> NamesIn(System.Text.Json.Nodes.JsonNode? node, string within) => node switch
    {
        System.Text.Json.Nodes.JsonObject known => [.. known.SelectMany(p => NamesIn(p.Value, $"{within}/{p.Key}").Append($"{within}/{p.Key}"))],
        System.Text.Json.Nodes.JsonArray several => [.. several.SelectMany(one => NamesIn(one, within))],
        _ => [],
    };

    private static Task<string> KeptAsync(string edition) =>
        File.ReadAllTextAsync(Path.Combine(AppContext.BaseDirectory, "Fitting", "Data", $"fit-{edition}.json"), Cancel);

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

    /// <summary>A kept fit and the names that stand in it.</summary>
    private sealed record OffsetNames(string File, int Edition, HashSet<string> Names);
}
