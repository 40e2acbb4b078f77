using System.Globalization;
using System.Net;
using System.Text.Json;
using Microsoft.EntityFrameworkCore;
using PavementWatch.Core.Backtesting;
using PavementWatch.Core.Offsets;
using PavementWatch.Core.Readings;
using PavementWatch.Core.Weather;
using PavementWatch.Dashboards.Analyst;
using PavementWatch.Server.Analyst;
using PavementWatch.Server.Database;
using PavementWatch.Server.Fitting;
using PavementWatch.Server.People;
using PavementWatch.Server.Tests.Api;
using PavementWatch.Server.Weather;
using PavementWatch.Tests;
using static PavementWatch.Server.Tests.Api.RunningServer;

namespace PavementWatch.Server.Tests.Analyst;

/// <summary>What the analyst decides and asks through the pages, without scripts.</summary>
public sealed class AnalystPagesTests
{
    private static readonly Uri Spot = new("/analyst/spots/north-gate-plaza", UriKind.Relative);

    private static CancellationToken Cancel => TestContext.Current.CancellationToken;

    [Theory]
    [InlineData("accept", FitPlace.InUse, FitPlace.Replaced)]
    [InlineData("refuse", FitPlace.Refused, FitPlace.InUse)]
    public async Task A_decision_moves_the_fits_and_is_kept_with_who_and_why(string decision, FitPlace waitingBecomes, FitPlace usedBecomes)
    {
        await using var server = await StartAsync(spots: [NorthGate]);
        var (used, waiting) = await TwoFitsAsync(server);
        using var odile = await server.BrowserOfAsync(Role.Analyst, "Odile");

        using var answer = await odile.PostAsync(Spot.ToString(), "decide", Decision(waiting, decision, "  The plaza was resealed. "));

        Assert.Equal(HttpStatusCode.Redirect, answer.StatusCode);
        var review = (await server.Get<IAnalystQuery>().ReviewAsync(NorthGate.Id, Cancel))!;
        Assert.Equal(waitingBecomes, review.Fits.Versions.Single(v => v.Fit.Id == waiting).Place);
        Assert.Equal(usedBecomes, review.Fits.Versions.Single(v => v.Fit.Id == used).Place);
        Assert.Equal(decision == "accept" ? waiting : used, server.Get<FitStore>().InUse(NorthGate.Id)!.Id);
        Assert.Equal(
            new FitDecision(Noon, "Odile", waiting, decision == "accept", "The plaza was resealed.", decision == "accept" ? used : null),
            Assert.Single(review.Decisions));
        var page = WebUtility.HtmlDecode(await odile.GetStringAsync(answer.Headers.Location, Cancel));
        Assert.Contains("“The plaza was resealed.”", page, StringComparison.Ordinal);
        Assert.DoesNotContain("Put it into use", page, StringComparison.Ordinal);
    }

    [Fact]
    public async Task A_decision_without_a_reason_or_too_late_changes_nothing_and_says_so()
    {
        await using var server = await StartAsync(spots: [NorthGate]);
        var (used, waiting) = await TwoFitsAsync(server);
        using var odile = await server.BrowserOfAsync(Role.Analyst, "Odile");

        using var silent = await odile.PostAsync(Spot.ToString(), "decide", Decision(waiting, "accept", " "));
        Assert.Equal(HttpStatusCode.UnprocessableEntity, silent.StatusCode);
        Assert.Contains("The reason has 0 characters, expected 1 to 500", await silent.Content.ReadAsStringAsync(Cancel), StringComparison.Ordinal);
        using var wrong = await odile.PostAsync(Spot.ToString(), "decide", Decision(used, "refuse", "by mistake"));
        Assert.Contains("no longer waits", await wrong.Content.ReadAsStringAsync(Cancel), StringComparison.Ordinal);

        Assert.Equal(used, server.Get<FitStore>().InUse(NorthGate.Id)!.Id);
        Assert.Empty(await server.Get<FitDecisions>().OfAsync(NorthGate.Id, Cancel));
    }

    [Fact]
    public async Task Residuals_are_those_of_days_the_sensor_measured_and_the_estimate_did_not_see()
    {
        await using var server = await StartAsync(spots: [NorthGate]);
        await server.MeasureAsync(Days(17));
        await FitAsync(server, FitStanding.InUse, Noon.AddDays(-2));

        var residuals = (await server.Get<IAnalystQuery>().ReviewAsync(NorthGate.Id, Cancel))!.Residuals;

        // Every half hour of seven days, of which two lie behind the fit.
        Assert.InRange(residuals.Points.Count, 330, 336);
        Assert.Equal(96, residuals.Points.Count(p => !p.Learned));
        Assert.True(residuals.CalibratedOnUnseen);
        // The invented ground repeats itself each day, so whoever has learned it knows it.
        Assert.InRange(residuals.Points.Max(p => Math.Abs(p.ResidualKelvin)), 0, 4);
        Assert.Equal([50, 60, 70, 80, 90, 95], residuals.Calibration.Select(c => c.NominalPercent));
        Assert.Equal(Backtest.Ages, residuals.Aged.Select(a => a.AgeHours).Distinct().Order());
        // 17 UTC is 12 in Ferngate in July, and the sun of 37.4 N stands within a degree of 74 there at 13:30, so near 65 at noon.
        var noon = residuals.Points.Single(p => p.At == Noon.AddDays(-1));
        Assert.Equal(12, noon.LocalHour, 9);
        Assert.InRange(noon.SunDegrees, 60, 74);
    }

    [Fact]
    public async Task Wind_and_measured_sun_have_residuals_where_a_station_gave_them_and_words_where_not()
    {
        await using var server = await StartAsync(spots: [NorthGate]);
        await server.MeasureAsync(Days(10));
        await FitAsync(server, FitStanding.InUse, Noon.AddDays(-2));
        using var odile = await server.BrowserOfAsync(Role.Analyst, "Odile");

        var before = WebUtility.HtmlDecode(await odile.GetStringAsync(Spot, Cancel));
        Assert.Contains("No wind and no measured sun are known at this spot", before, StringComparison.Ordinal);
        Assert.Contains("import weather FILE --site \"North Gate\"", before, StringComparison.Ordinal);
        Assert.Contains("The fit in use looks at the air and its humidity.", before, StringComparison.Ordinal);
        Assert.DoesNotContain("Residual by wind", before, StringComparison.Ordinal);

        await server.Get<WeatherStore>().StoreAsync(
            new WeatherOrigin("", WeatherKind.Observed, Noon),
            [.. Enumerable.Range(-72, 73).Select(h => new WeatherValues(Noon.AddHours(h)) { WindMetersPerSecond = 3.5 })], Cancel);
        var after = WebUtility.HtmlDecode(await odile.GetStringAsync(Spot, Cancel));

        Assert.Contains("No measured sun is known at this spot", after, StringComparison.Ordinal);
        // 73 rows, each the mean of the hour up to it: 146 half hours, by definition.
        Assert.Matches(@"Residual by wind[\s\S]*>3 to 4</th><td class=""num"">146</td>", after);
        var points = (await server.Get<IAnalystQuery>().ReviewAsync(NorthGate.Id, Cancel))!.Residuals.Points;
        Assert.Equal(146, points.Count(p => p.WindMetersPerSecond == 3.5));
        Assert.True(points[0].WindMetersPerSecond is null);
    }

    [Fact]
    public async Task The_history_goes_back_to_the_first_fit_and_a_fit_says_which_days_it_learned_from()
    {
        await using var server = await StartAsync(spots: [NorthGate]);
        await server.MeasureAsync(Days(5));
        var first = await FitAsync(server, FitStanding.InUse, Noon);
        var fit = server.Get<FitStore>().InUse(NorthGate.Id)!;
        for (var night = 1; night < 250; night++)
        {
            var at = Noon.AddDays(-night);
            await server.Get<FitStore>().AddAsync(
                fit with { Id = $"{first}-{night}", FittedAt = at, MeanOffsetKelvin = night / 10.0 }, FitStanding.Replaced, "test", Cancel);
        }

        var history = (await server.Get<IAnalystQuery>().SpotsAsync(Cancel)).Single().History;
        var fits = (await server.Get<IAnalystQuery>().ReviewAsync(NorthGate.Id, Cancel))!.Fits;

        Assert.Equal((250, 40, 125), (fits.Count, fits.Versions.Count, history.Count));
        Assert.Equal(new FitPoint(Noon.AddDays(-248), 24.8), history[0]);
        Assert.Equal(Noon, history[^1].FittedAt);
        using var odile = await server.BrowserOfAsync(Role.Analyst, "Odile");
        var page = WebUtility.HtmlDecode(await odile.GetStringAsync(Spot, Cancel));
        Assert.Contains("The newest 40 of 250", page, StringComparison.Ordinal);
        // The readings began half an hour after that noon's step, five or more days ago; the window is longer.
        Assert.True(fit.FirstSampleAt > fit.WindowFrom.AddDays(50));
        Assert.Equal(Noon, fit.LastSampleAt);
    }

    [Fact]
    public async Task The_list_shows_the_figures_beside_the_fits_and_reads_none_of_them()
    {
        await using var server = await StartAsync(spots: [NorthGate]);
        await server.MeasureAsync(Days(5));
        await FitAsync(server, FitStanding.InUse, Noon);
        await using (var db = await server.Get<IDbContextFactory<RegistryDb>>().CreateDbContextAsync(Cancel))
            await db.Database.ExecuteSqlAsync($"UPDATE \"Fits\" SET \"Json\" = 'not to be read', \"MeanOffsetKelvin\" = 12.5, \"SampleCount\" = 4321", Cancel);
        using var odile = await server.BrowserOfAsync(Role.Analyst, "Odile");

        var page = WebUtility.HtmlDecode(await odile.GetStringAsync(new Uri("/analyst", UriKind.Relative), Cancel));

        Assert.Matches(@"<td class=""num"">\+12\.5 K \(.*</td>[\s\S]*<td class=""num"">4321</td>", page);
        Assert.Contains("12.5]", page, StringComparison.Ordinal);
    }

    [Fact]
    public async Task Thresholds_are_kept_and_bad_ones_are_named()
    {
        await using var server = await StartAsync(spots: [NorthGate]);
        using var odile = await server.BrowserOfAsync(Role.Analyst, "Odile");
        var fields = new Dictionary<string, string> { ["bias"] = "0,5", ["limit"] = "3", ["pairs"] = "5", ["span"] = "10", ["accuracy"] = "0,7" };
        using var kept = await odile.PostAsync("/analyst", "thresholds", fields);
        Assert.Equal(HttpStatusCode.Redirect, kept.StatusCode);
        var asked = await server.Get<IAnalystQuery>().ThresholdsAsync(Cancel);
        Assert.Equal(
            (0.5, 3, 5, 10, 0.7),
            (asked.MostBiasKelvin, asked.MostDifferenceKelvin, asked.LeastPairs, asked.LeastSpanKelvin, asked.ThermometerAccuracyKelvin));
        Assert.Matches("""name="accuracy"[^>]* value="0\.7\b""", await odile.GetStringAsync(kept.Headers.Location, Cancel));

        fields["pairs"] = "2";
        using var refused = await odile.PostAsync("/analyst", "thresholds", fields);
        Assert.Equal(HttpStatusCode.UnprocessableEntity, refused.StatusCode);
        Assert.Contains("expected 3 to 1000", WebUtility.HtmlDecode(await refused.Content.ReadAsStringAsync(Cancel)), StringComparison.Ordinal);
        Assert.Equal(5, (await server.Get<IAnalystQuery>().ThresholdsAsync(Cancel)).LeastPairs);
    }

    [Fact]
    public async Task An_analyst_who_chose_Fahrenheit_reads_and_types_no_kelvin()
    {
        await using var server = await StartAsync(spots: [NorthGate]);
        await server.MeasureAsync(Days(10));
        await FitAsync(server, FitStanding.InUse, Noon.AddDays(-2));
        using var odile = await server.BrowserOfAsync(Role.Analyst, "Odile");
        var people = server.Get<PersonStore>();
        await people.SetUnitAsync((await people.FindAsync("Odile"))!.Id, TemperatureUnit.Fahrenheit, Cancel);

        foreach (var path in (string[])["/analyst", "/analyst/spots/north-gate-plaza", "/analyst/backtest"])
        {
            var page = WebUtility.HtmlDecode(await odile.GetStringAsync(new Uri(path, UriKind.Relative), Cancel)).Replace("\\u00B0", "°", StringComparison.OrdinalIgnoreCase);
            Assert.DoesNotMatch(@"[0-9] (K|°C)\b|\((K|°C)\)", page);
            Assert.Contains("(°F)", page, StringComparison.Ordinal);
        }

        var fields = new Dictionary<string, string> { ["unit"] = "fahrenheit", ["bias"] = "1,8", ["limit"] = "7.2", ["pairs"] = "5", ["span"] = "18", ["accuracy"] = "2.7" };
        using var kept = await odile.PostAsync("/analyst", "thresholds", fields);
        Assert.Equal(HttpStatusCode.Redirect, kept.StatusCode);
        var asked = await server.Get<IAnalystQuery>().ThresholdsAsync(Cancel);
        Assert.Equal((1, 4, 10, 1.5), (asked.MostBiasKelvin, asked.MostDifferenceKelvin, asked.LeastSpanKelvin, asked.ThermometerAccuracyKelvin));
    }

    [Fact]
    public async Task A_backtest_of_an_uploaded_file_is_what_the_core_finds_in_it()
    {
        await using var server = await StartAsync(spots: [NorthGate]);
        using var odile = await server.BrowserOfAsync(Role.Analyst, "Odile");
        var csv = "time_utc,air_celsius,surface_celsius\n" + string.Concat(Days(8).Where(r => r.MeasuredAt.Minute % 30 == 0).Select(r => string.Create(
            CultureInfo.InvariantCulture, $"{r.MeasuredAt.UtcDateTime:yyyy-MM-dd'T'HH:mm:ss}Z,{r.AirCelsius:F2},{r.SurfaceCelsius:F2}\n")));
        var fields = new Dictionary<string, string> { ["latitude"] = "37.4", ["longitude"] = "-97", ["surface"] = "asphalt", ["limit"] = "49" };

        using var started = await odile.PostAsync("/analyst/backtest", "backtest", fields, csv);

        Assert.Equal(HttpStatusCode.Redirect, started.StatusCode);
        var id = Guid.Parse(started.Headers.Location!.ToString().Split('/')[^1]);
        await Patience.UntilAsync(() => server.Get<IBacktests>().Find(id)!.Ended, () => "the backtest does not end");
        using var progress = JsonDocument.Parse(await odile.GetStringAsync(new Uri($"/api/backtests/{id}", UriKind.Relative), Cancel));
        Assert.True(progress.RootElement.GetProperty("ended").GetBoolean());
        var json = await odile.GetStringAsync(new Uri($"/api/backtests/{id}/report.json", UriKind.Relative), Cancel);
        using var reader = new StringReader(csv);
        var rows = BacktestCsv.Read(reader, null, Cancel).Rows;
        Assert.Equal(Backtest.Run(new BacktestRequest(NorthGate with { TimeZoneId = "Etc/UTC" }, rows) { Inputs = OffsetInputs.AirOnly }, cancellationToken: Cancel).ToJson(), json);
        var page = await odile.GetStringAsync(started.Headers.Location, Cancel);
        Assert.Contains("of the table", page, StringComparison.Ordinal);
    }

    [Theory]
    [InlineData("time_utc,air_celsius\n", "line 1, column surface_celsius: no such column")]
    [InlineData("time_utc,air_celsius,surface_celsius\n2026-07-01T00:00,20,21\n", "line 2, column time_utc: '2026-07-01T00:00'")]
    [InlineData("time_utc,air_celsius,surface_celsius\n2026-07-01T00:00Z,20,5,21\n", "not a decimal comma")]
    public async Task A_bad_file_is_refused_by_line_and_column(string csv, string fault)
    {
        await using var server = await StartAsync(spots: [NorthGate]);
        using var odile = await server.BrowserOfAsync(Role.Analyst, "Odile");
        var fields = new Dictionary<string, string> { ["latitude"] = "37.4", ["longitude"] = "-97", ["surface"] = "asphalt", ["limit"] = "49" };
        using var answer = await odile.PostAsync("/analyst/backtest", "backtest", fields, csv);
        Assert.Equal(HttpStatusCode.UnprocessableEntity, answer.StatusCode);
        Assert.Contains(fault, WebUtility.HtmlDecode(await answer.Content.ReadAsStringAsync(Cancel)), StringComparison.Ordinal);
        Assert.Empty(server.Get<IBacktests>().All());
    }

    [Fact]
    public async Task A_file_too_short_for_a_backtest_ends_with_a_reason()
    {
        await using var server = await StartAsync(spots: [NorthGate]);
        var rows = Days(2).Select(r => new WeatherSample(r.MeasuredAt, r.AirCelsius!.Value) { SurfaceCelsius = r.SurfaceCelsius }).ToList();
        var id = server.Get<IBacktests>().Start("short.csv", "Odile", new BacktestRequest(NorthGate, rows), [])!.Value;
        await Patience.UntilAsync(() => server.Get<IBacktests>().Find(id)!.Ended, () => "the backtest does not end");
        Assert.StartsWith("The file has no measured surface on a day", server.Get<IBacktests>().Find(id)!.Fault, StringComparison.Ordinal);
    }

    private static Dictionary<string, string> Decision(string fit, string decision, string reason) =>
        new() { ["fit"] = fit, ["decision"] = decision, ["reason"] = reason };

    private static async Task<(string Used, string Waiting)> TwoFitsAsync(RunningServer server)
    {
        await server.MeasureAsync(Days(5));
        return (await FitAsync(server, FitStanding.InUse, Noon.AddDays(-1)), await FitAsync(server, FitStanding.Waiting, Noon));
    }

    private static async Task<string> FitAsync(RunningServer server, FitStanding standing, DateTimeOffset at)
    {
        var history = Days(17).Where(r => r.MeasuredAt <= at)
            .Select(r => new WeatherSample(r.MeasuredAt, r.AirCelsius!.Value) { SurfaceCelsius = r.SurfaceCelsius, HumidityPercent = r.HumidityPercent });
        var fit = new OffsetModel(new OffsetOptions()).Fit(NorthGate, [.. history], at);
        await server.Get<FitStore>().AddAsync(fit, standing, "test", Cancel);
        return fit.Id;
    }

    /// <summary>The last days up to now, a reading each ten minutes.</summary>
    private static IEnumerable<Reading> Days(int days) => Enumerable.Range(1, days * 144).Select(i =>
    {
        var at = Noon - TimeSpan.FromMinutes(((days * 144) - i) * 10);
        var sun = Math.Max(0, Math.Cos((at - Noon).TotalDays * 2 * Math.PI));
        return Good(NorthGate, at, 24 + (30 * sun), 22 + (14 * sun));
    });
}
