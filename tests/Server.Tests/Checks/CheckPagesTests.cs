using System.Globalization;
using System.Net;
using PavementWatch.Core.Agreement;
using PavementWatch.Core.Offsets;
using PavementWatch.Core.Readings;
using PavementWatch.Core.Weather;
using PavementWatch.Dashboards.Checks;
using PavementWatch.Server.Checks;
using PavementWatch.Server.Fitting;
using PavementWatch.Server.Tests.Api;
using PavementWatch.Server.Tests.Store;
using PavementWatch.Tests;
using static PavementWatch.Server.Tests.Api.RunningServer;

namespace PavementWatch.Server.Tests.Checks;

/// <summary>Checks through the pages, as people without scripts enter them, and what they say.</summary>
public sealed class CheckPagesTests
{
    // Bland and Altman 1986, table 1, first readings: a tenth of the litres a minute as °C, so that they are temperatures.
    private static readonly double[] Wright = [494, 395, 516, 434, 476, 557, 413, 442, 650, 433, 417, 656, 267, 478, 178, 423, 427];
    private static readonly double[] Mini = [512, 430, 520, 428, 500, 600, 364, 380, 658, 445, 432, 626, 260, 477, 259, 350, 451];

    private static CancellationToken Cancel => TestContext.Current.CancellationToken;

    [Theory]
    [InlineData("Walker")]
    [InlineData("Analyst")]
    [InlineData("Business")]
    public async Task A_check_entered_on_a_phone_is_kept_as_it_was_meant(string role)
    {
        await using var server = await StartAsync();
        using var browser = await server.BrowserOfAsync(Enum.Parse<Role>(role), "Ines");

        using var answer = await browser.PostAsync("/checks/new", "check", new Dictionary<string, string>
        {
            ["spot"] = "north-gate-plaza",
            ["temperature"] = "122,9",
            ["unit"] = "fahrenheit",
            ["ground"] = "sun",
            ["time"] = "2026-07-14T11:40",
            ["thermometer"] = "Handy 2",
            ["emissivity"] = "0.95",
        });

        Assert.Equal(HttpStatusCode.Redirect, answer.StatusCode);
        var check = Assert.Single(await server.Get<ISpotChecks>().NewestAsync(null, 10, Cancel));
        // (122.9 − 32) · 5/9 by definition; 11:40 in Ferngate is 16:40 UTC in July.
        Assert.Equal(50.5, check.ShownCelsius, 12);
        Assert.Equal((Noon.AddMinutes(-20), CheckedGround.Sun, "Handy 2", 0.95, "Ines"),
            (check.At, check.Ground, check.Thermometer, check.EmissivityFraction, check.EnteredBy));
        var page = WebUtility.HtmlDecode(await browser.GetStringAsync(answer.Headers.Location, Cancel));
        Assert.Contains("Your check is kept: North Gate plaza", page, StringComparison.Ordinal);
        Assert.Contains("50.5 °C · 123 °F", page, StringComparison.Ordinal);
    }

    [Theory]
    [InlineData("temperature", "hot", "is not a number")]
    [InlineData("temperature", "", "Enter what the thermometer shows")]
    [InlineData("temperature", "500", "expected -60 to 120 °C")]
    [InlineData("spot", "nowhere", "Choose the spot")]
    [InlineData("time", "2026-07-15T12:00", "expected not later than now")]
    [InlineData("emissivity", "95", "expected 0.1 to 1")]
    [InlineData("thermometer", "=cmd", "first character")]
    public async Task A_check_that_cannot_be_comes_back_with_its_fault_and_what_was_typed(string field, string value, string fault)
    {
        await using var server = await StartAsync();
        using var browser = await server.BrowserOfAsync(Role.Walker);
        var fields = new Dictionary<string, string> { ["spot"] = "quarry-steps", ["temperature"] = "44.5", ["note"] = "typed before" };
        fields[field] = value;

        using var answer = await browser.PostAsync("/checks/new", "check", fields);

        Assert.Equal(HttpStatusCode.UnprocessableEntity, answer.StatusCode);
        var page = WebUtility.HtmlDecode(await answer.Content.ReadAsStringAsync(Cancel));
        Assert.Contains(fault, page, StringComparison.Ordinal);
        Assert.Contains("typed before", page, StringComparison.Ordinal);
        Assert.Empty(await server.Get<ISpotChecks>().NewestAsync(null, 10, Cancel));
    }

    [Fact]
    public async Task A_check_without_the_forms_token_is_refused()
    {
        await using var server = await StartAsync();
        using var browser = await server.BrowserOfAsync(Role.Walker);
        using var form = new FormUrlEncodedContent(
            [new("_handler", "check"), new("spot", "quarry-steps"), new("temperature", "44")]);
        using var answer = await browser.PostAsync(new Uri("/checks/new", UriKind.Relative), form, Cancel);
        Assert.Equal(HttpStatusCode.BadRequest, answer.StatusCode);
        Assert.Empty(await server.Get<ISpotChecks>().NewestAsync(null, 10, Cancel));
    }

    [Fact]
    public async Task The_example_of_1986_sent_as_a_file_gives_the_published_figures()
    {
        await using var server = await StartAsync(spots: [NorthGate]);
        var first = Noon.AddDays(-3);
        await server.MeasureAsync(Wright.Select((w, i) => Good(NorthGate, first.AddHours(4 * i).AddMinutes(2), w / 10, air: 20)));
        using var browser = await server.BrowserOfAsync(Role.Analyst, "Odile");
        var csv = "time_utc,surface_celsius,spot\n" + string.Join('\n', Mini.Select((m, i) => string.Create(
            CultureInfo.InvariantCulture, $"{first.AddHours(4 * i).UtcDateTime:yyyy-MM-dd'T'HH:mm:ss}Z,{m / 10:F1},north-gate-plaza")));

        using var answer = await browser.PostAsync("/checks/import", "import", new Dictionary<string, string>(), csv);
        Assert.Contains("17 checks read, 17 new, 0 there already", await answer.Content.ReadAsStringAsync(Cancel), StringComparison.Ordinal);
        using var again = await browser.PostAsync("/checks/import", "import", new Dictionary<string, string>(), csv);
        Assert.Contains("17 checks read, 0 new, 17 there already", await again.Content.ReadAsStringAsync(Cancel), StringComparison.Ordinal);

        const string paper = "Bland and Altman, Lancet i (1986) 307–310, table 1, a tenth";
        const string computed = paper + ", computed in R 4.2.2 and Python 3.11";
        var sensor = (await server.Get<ISpotChecks>().CompareAsync(NorthGate.Id, Cancel))!.Sensor;
        Assert.Equal(17, sensor.Agreement!.Count);
        Published.Near(-0.21, sensor.Agreement.BiasKelvin, 0.005, paper);
        Published.Near(3.88, sensor.Agreement.DeviationKelvin, 0.005, paper);
        Published.Near(-2.20488, sensor.Agreement.BiasIntervalKelvin.Low, 5e-6, computed);
        Published.Near(1.78135, sensor.Agreement.BiasIntervalKelvin.High, 5e-6, computed);
        Published.Near(-7.80973016, sensor.Agreement.LowerLimitKelvin, 5e-9, computed);
        Published.Near(7.38620075, sensor.Agreement.UpperLimitKelvin, 5e-9, computed);
        Assert.Equal(AgreementFinding.Scattered, sensor.Verdict.Finding);
    }

    [Fact]
    public async Task A_bad_file_is_refused_whole_and_a_large_one_before_it_is_read()
    {
        await using var server = await StartAsync();
        using var browser = await server.BrowserOfAsync(Role.Walker);
        const string bad = "spot,time_utc,surface_celsius\nquarry-steps,2026-07-14T16:00:00Z,44\nquarry-steps,2026-07-14T16:05:00Z,hot\n";
        using var refused = await browser.PostAsync("/checks/import", "import", new Dictionary<string, string>(), bad);
        Assert.Equal(HttpStatusCode.UnprocessableEntity, refused.StatusCode);
        Assert.Contains("line 3, column surface_celsius", await refused.Content.ReadAsStringAsync(Cancel), StringComparison.Ordinal);
        Assert.Empty(await server.Get<ISpotChecks>().NewestAsync(null, 10, Cancel));

        using var request = new HttpRequestMessage(HttpMethod.Post, "/checks/import") { Content = new ByteArrayContent(new byte[9 << 20]) };
        request.Headers.ExpectContinue = true;
        using var tooLarge = await browser.SendAsync(request, Cancel);
        Assert.Equal(HttpStatusCode.RequestEntityTooLarge, tooLarge.StatusCode);
        Assert.Contains("It has 9 MiB, and this page takes 8 MiB", await tooLarge.Content.ReadAsStringAsync(Cancel), StringComparison.Ordinal);
    }

    [Fact]
    public async Task The_export_holds_every_check_and_is_the_teams()
    {
        await using var server = await StartAsync();
        using var ines = await server.BrowserOfAsync(Role.Walker, "Ines");
        await server.Get<CheckStore>().AddAsync(
            new SpotCheck(QuarrySteps.Id, Noon.AddMinutes(-1), 44.25) { Ground = CheckedGround.Shade }, new(), Cancel);
        var csv = await ines.GetStringAsync(new Uri("/checks/export.csv", UriKind.Relative), Cancel);
        Assert.Equal($"{CheckCsv.Header}\r\nquarry-steps,2026-07-14T16:59:00Z,44.25,,,shade,\r\n", csv);
        using var nobody = server.Browser();
        using var refused = await nobody.GetAsync(new Uri("/checks/export.csv", UriKind.Relative), Cancel);
        Assert.Equal(HttpStatusCode.Unauthorized, refused.StatusCode);
    }

    [Fact]
    public async Task A_sensor_that_reads_high_is_found_and_its_correction_is_suggested()
    {
        await using var server = await StartAsync(spots: [NorthGate]);
        var first = Noon.AddDays(-3);
        // Two weeks would teach the offset the same error; here only the sensor's readings near the checks count.
        await server.MeasureAsync(Enumerable.Range(0, 12).Select(i => Good(NorthGate, first.AddHours(5 * i), 40 + i + 3 + (0.2 * (i % 3)), air: 30)));
        foreach (var i in Enumerable.Range(0, 12))
            await server.Get<CheckStore>().AddAsync(new SpotCheck(NorthGate.Id, first.AddHours(5 * i).AddMinutes(4), 40 + i), new(), Cancel);
        // Six minutes from any reading: not compared with the sensor.
        await server.Get<CheckStore>().AddAsync(new SpotCheck(NorthGate.Id, first.AddHours(15).AddMinutes(6), 80), new(), Cancel);

        var found = (await server.Get<ISpotChecks>().CompareAsync(NorthGate.Id, Cancel))!;

        Assert.Equal(13, found.Checks.Count);
        Assert.Equal(12, found.Sensor.Pairs.Count);
        Assert.Equal(Blame.Sensor, found.Verdict.Blame);
        Assert.Equal(RecalibrationKind.Offset, found.Recalibration!.Kind);
        // Mean of 3, 3.2 and 3.4 by definition.
        Assert.Equal(-3.2, found.Recalibration.OffsetKelvin, 9);
        Assert.All(found.Checks, c => Assert.NotNull(c.EstimateCelsius));
    }

    [Fact]
    public async Task A_thermometer_that_may_be_further_off_itself_lets_the_sensor_go()
    {
        await using var server = await StartAsync(spots: [NorthGate]);
        var first = Noon.AddDays(-3);
        // 3, 3.2 and 3.4 K high by turns.
        await server.MeasureAsync(Enumerable.Range(0, 12).Select(i => Good(NorthGate, first.AddHours(5 * i), 40 + i + 3 + (0.2 * (i % 3)), air: 30)));
        foreach (var i in Enumerable.Range(0, 12))
            await server.Get<CheckStore>().AddAsync(new SpotCheck(NorthGate.Id, first.AddHours(5 * i).AddMinutes(4), 40 + i), new(), Cancel);
        using var odile = await server.BrowserOfAsync(Role.Analyst, "Odile");
        Assert.Contains("more than the 1.0 K (1.8 °F) allowed and the 1.5 K (2.7 °F) that the thermometer may be off itself", await PageAsync(), StringComparison.Ordinal);

        using var kept = await odile.PostAsync("/analyst", "thresholds", new Dictionary<string, string>
        {
            ["bias"] = "1",
            ["limit"] = "4",
            ["pairs"] = "8",
            ["span"] = "15",
            ["accuracy"] = "3",
        });

        Assert.Equal(HttpStatusCode.Redirect, kept.StatusCode);
        Assert.Contains("but the thermometer may be off by 3.0 K (5.4 °F) itself", await PageAsync(), StringComparison.Ordinal);
        var found = (await server.Get<ISpotChecks>().CompareAsync(NorthGate.Id, Cancel))!;
        Assert.Equal((AgreementReason.BiasMayBeTheThermometers, 3.0), (found.Sensor.Verdict.Because, found.Thresholds.ThermometerAccuracyKelvin));
        Assert.NotEqual(Blame.Sensor, found.Verdict.Blame);

        async Task<string> PageAsync() =>
            WebUtility.HtmlDecode(await odile.GetStringAsync(new Uri("/analyst/spots/north-gate-plaza", UriKind.Relative), Cancel));
    }

    [Fact]
    public async Task Each_check_is_held_against_the_fit_of_its_own_day()
    {
        await using var server = await StartAsync(spots: [NorthGate]);
        await server.MeasureAsync(Enumerable.Range(1, 30 * 24).Select(hour => Good(NorthGate, Noon.AddHours(-hour), 35, air: 30)));
        // The later one knows of new ground, far hotter.
        await FitAsync(Noon.AddDays(-20), offsetKelvin: 5);
        await FitAsync(Noon.AddDays(-5), offsetKelvin: 25);
        foreach (var daysAgo in (int[])[25, 10, 2])
            await server.Get<CheckStore>().AddAsync(new SpotCheck(NorthGate.Id, Noon.AddDays(-daysAgo), 36), new(), Cancel);

        var found = (await server.Get<ISpotChecks>().CompareAsync(NorthGate.Id, Cancel))!;

        // Before the first fit it is the first one, as the pages of those days show it.
        Assert.InRange(found.Checks[0].EstimateCelsius!.Value, 32, 38);
        Assert.InRange(found.Checks[1].EstimateCelsius!.Value, 32, 38);
        Assert.InRange(found.Checks[2].EstimateCelsius!.Value, 50, 60);

        async Task FitAsync(DateTimeOffset at, double offsetKelvin)
        {
            var history = Enumerable.Range(0, 15 * 24).Select(hour => at.AddHours(hour - (15 * 24)))
                .Select(t => new WeatherSample(t, 30) { SurfaceCelsius = 30 + offsetKelvin }).ToList();
            await server.Get<FitStore>().AddAsync(new OffsetModel(new OffsetOptions()).Fit(NorthGate, history, at), FitStanding.InUse, "test", Cancel);
        }
    }

    [Fact]
    public async Task A_setting_unlike_the_surfaces_emissivity_is_put_right_and_wet_ground_does_not_judge_the_estimate()
    {
        await using var server = await StartAsync(spots: [NorthGate with { EmissivityFraction = 0.90 }]);
        await server.MeasureAsync(Good(NorthGate, Noon.AddMinutes(-10), 50, air: 30));
        await server.Get<CheckStore>().AddAsync(
            new SpotCheck(NorthGate.Id, Noon.AddMinutes(-10), 50) { EmissivityFraction = 1, Ground = CheckedGround.Shade }, new(), Cancel);
        await server.Get<CheckStore>().AddAsync(
            new SpotCheck(NorthGate.Id, Noon.AddMinutes(-9), 33) { Ground = CheckedGround.Wet }, new(), Cancel);

        var found = (await server.Get<ISpotChecks>().CompareAsync(NorthGate.Id, Cancel))!;

        Published.Near(52.0377, found.Checks[0].ReferenceCelsius, 5e-5, "Planck's law over 8 to 14 µm in Python; grey body in shade: reflected is the air's 30 °C");
        Assert.Equal([true, false], found.Checks.Select(c => c.JudgesEstimate));
    }

    [Fact]
    public async Task Many_checks_are_compared_with_as_few_questions_as_two()
    {
        await using var server = await StartAsync(spots: [NorthGate], services: CountingStore.Wrap);
        var days = Enumerable.Range(1, 30).Select(day => Noon.AddDays(-day)).ToList();
        await server.MeasureAsync(Enumerable.Range(0, 34 * 24).Select(hour => Good(NorthGate, Noon.AddHours(-hour), 40 + hour % 24, air: 30)));
        var checks = server.Get<CheckStore>();
        foreach (var day in days.Take(2))
            await checks.AddAsync(new SpotCheck(NorthGate.Id, day.AddMinutes(4), 41), new(), Cancel);
        var store = server.Get<CountingStore>();
        store.Clear();
        await checks.CompareAsync(NorthGate.Id, Cancel);
        // The watch may ask for the last days meanwhile.
        (int, int) Questions() => (store.Ranges.Count(OfChecks), store.Steps.Count(OfChecks));
        static bool OfChecks((SpotId Spot, DateTimeOffset From, DateTimeOffset To) asked) => asked.To < Noon.AddHours(-12);
        var ofTwo = Questions();
        foreach (var day in days.Skip(2))
            await checks.AddAsync(new SpotCheck(NorthGate.Id, day.AddMinutes(4), 41), new(), Cancel);
        store.Clear();

        var found = (await checks.CompareAsync(NorthGate.Id, Cancel))!;

        Assert.Equal((1, 1), ofTwo);
        Assert.Equal(ofTwo, Questions());
        // Each against the reading of its own noon, four minutes before it, and each estimated from the air of its own days.
        Assert.Equal(Enumerable.Repeat<double?>(40, 30), found.Checks.Select(c => c.SensorCelsius));
        Assert.All(found.Checks, c => Assert.InRange(c.EstimateCelsius!.Value, 30, 70));
    }
}
