using System.Collections.Concurrent;
using System.Globalization;
using System.Text.Json;
using System.Text.RegularExpressions;
using Microsoft.EntityFrameworkCore;
using Microsoft.Extensions.DependencyInjection;
using Microsoft.Extensions.Hosting;
using PavementWatch.Core.Offsets;
using PavementWatch.Core.Readings;
using PavementWatch.Core.Surfaces;
using PavementWatch.Dashboards.Texts;
using PavementWatch.Server.Database;
using PavementWatch.Server.Fitting;
using PavementWatch.Server.Setup;
using PavementWatch.Server.Spots;
using PavementWatch.Server.Tests.Api;
using PavementWatch.Server.Tests.Store;
using PavementWatch.Server.Weather;
using PavementWatch.Tests;
using static PavementWatch.Server.Tests.Api.RunningServer;

namespace PavementWatch.Server.Tests.Fitting;

public sealed class FitRunnerTests
{
    private static CancellationToken Cancel => TestContext.Current.CancellationToken;

    [Fact]
    public async Task The_first_start_puts_the_handbooks_offset_into_use_for_every_spot()
    {
        var folder = Directory.CreateTempSubdirectory("pw-fit-").FullName;
        await using (await StartAsync(folder))
        {
            // The spots are added while it runs; the next start finds them.
        }

        await using (var server = await StartAsync(folder))
        {
            var rows = await RowsAsync(server, 2);
            Assert.Equal([FitStanding.InUse, FitStanding.InUse], rows.Select(r => r.Standing));
            Assert.All(rows, r => Assert.Equal(0, JsonSerializer.Deserialize<OffsetFit>(r.Json)!.SampleCount));
        }

        Directory.Delete(folder, recursive: true);
    }

    [Fact]
    public async Task A_fit_on_readings_takes_over_from_the_handbook_and_reads_back_as_it_was_made()
    {
        await using var server = await StartAsync(spots: [NorthGate]);
        await FitAsync(server);
        await server.MeasureAsync(Days(NorthGate, 14, At));
        server.Time.Advance(TimeSpan.FromMinutes(1));

        var result = await FitAsync(server);

        Assert.Equal(FitStanding.InUse, result.Standing);
        Assert.Equal(FitReason.NoWorse, result.Judgement.Because);
        Assert.True(result.Fit.SampleCount > 500, $"{result.Fit.SampleCount}");
        var rows = await RowsAsync(server, 2);
        Assert.Equal([FitStanding.Replaced, FitStanding.InUse], rows.Select(r => r.Standing));
        var json = rows[1].Json;
        Assert.Equal(json, JsonSerializer.Serialize(JsonSerializer.Deserialize<OffsetFit>(json)));
        Assert.Equal(result.Fit.Id, server.Get<FitStore>().InUse(NorthGate.Id)?.Id);
    }

    [Fact]
    public async Task What_was_measured_on_other_ground_teaches_nothing_of_the_new()
    {
        await using var server = await StartAsync(spots: [NorthGate]);
        await FitAsync(server);
        await server.MeasureAsync(Days(NorthGate, 14, At));
        server.Time.Advance(TimeSpan.FromMinutes(1));
        Assert.True((await FitAsync(server)).Fit.SampleCount > 500);
        Assert.Null(await server.Get<SpotStore>().EditSpotAsync(NorthGate.Id, spot => spot with { Surface = SurfaceKind.Grass }, Cancel));
        server.Time.Advance(TimeSpan.FromMinutes(1));

        var after = await server.Get<FitRunner>().RunAsync(server.Get<SpotCatalogue>().Find(NorthGate.Id), null, Cancel);

        Assert.Equal(0, Assert.Single(after).Fit.SampleCount);
    }

    [Fact]
    public async Task A_fit_that_does_worse_on_the_last_days_waits_for_the_analyst()
    {
        await using var server = await StartAsync(spots: [NorthGate]);
        await server.MeasureAsync(Days(NorthGate, 14, At));
        var good = await FitAsync(server);
        Assert.Equal(FitStanding.InUse, good.Standing);
        // Sixteen of the next nineteen days the sensor looks at a grate that stays at the air's temperature; then it is
        // put right. Six such days would not do: a fit that has seen better ones hardly listens.
        var later = Noon.AddDays(19);
        await server.MeasureAsync(Days(NorthGate, 19, (day, sun) => day < 16 ? 22 + (14 * sun) : At(day, sun), later));
        server.SleepFor(TimeSpan.FromDays(19));
        var nightly = (await RowsAsync(server, 2))[1];

        Assert.Equal((later, FitStanding.Waiting), (nightly.FittedAt, nightly.Standing));
        Assert.StartsWith("worse: ", FitReasonTexts.Of(nightly.Reason, TemperatureUnit.Celsius), StringComparison.Ordinal);
        Assert.Equal(good.Fit.Id, server.Get<FitStore>().InUse(NorthGate.Id)?.Id);
    }

    [Fact]
    public async Task A_spot_that_was_painted_is_named_beside_the_judgement()
    {
        var twin = NorthGate with { Id = SpotId.Parse("north-gate-twin"), Name = "North Gate twin" };
        await using var server = await StartAsync(spots: [NorthGate, twin]);
        await server.MeasureAsync([.. Days(NorthGate, 14, At), .. Days(twin, 14, At)]);
        await server.Get<FitRunner>().RunAsync(null, null, Cancel);
        var later = Noon.AddDays(12);
        // One is painted, the other is as it was.
        await server.MeasureAsync([.. Days(NorthGate, 12, (day, sun) => At(day, sun) - (8 * sun), later), .. Days(twin, 12, At, later)]);
        server.SleepFor(TimeSpan.FromDays(12));

        var rows = await RowsAsync(server, 4);
        Assert.Equal([(later, NorthGate.Id.Value), (later, twin.Id.Value)], rows[2..].Select(r => (r.FittedAt, r.SpotId)));
        Assert.DoesNotContain("the spot", FitReasonTexts.Of(rows[3].Reason, TemperatureUnit.Celsius), StringComparison.Ordinal);
        var found = Regex.Match(FitReasonTexts.Of(rows[2].Reason, TemperatureUnit.Celsius), @"; the spot takes less of the sun than it did \((?<day>[+-]?[0-9.]+) K by day, (?<night>[+-]?[0-9.]+) K by night over 5 days\)");
        Assert.True(found.Success, rows[2].Reason);
        // With the sun over 20°, so some five hours either side of noon, eight kelvin times the middle of its cosine; by night nothing.
        Assert.InRange(double.Parse(found.Groups["day"].Value, CultureInfo.InvariantCulture), -7, -5);
        Assert.InRange(double.Parse(found.Groups["night"].Value, CultureInfo.InvariantCulture), -0.5, 0.5);
    }

    [Fact]
    public async Task The_nightly_fit_runs_when_the_spots_clock_strikes_and_once()
    {
        await using var server = await StartAsync(spots: [NorthGate]);
        await FitAsync(server);
        await server.MeasureAsync(Days(NorthGate, 5, At));

        // Noon to 03:10 the next day, local.
        server.SleepFor(TimeSpan.FromHours(15) + TimeSpan.FromMinutes(9));
        await server.MinuteAsync(NorthGate);
        var nightly = (await RowsAsync(server, 2))[1];

        var due = new DateTimeOffset(2026, 7, 15, 8, 10, 0, TimeSpan.Zero);
        Assert.Equal(due, nightly.FittedAt);
        // The looks of the next minutes find nothing to do, until it is night again.
        for (var minute = 0; minute < 3; minute++)
        {
            await server.MinuteAsync(NorthGate);
            await LookedAsync(server);
        }

        server.SleepFor(due.AddDays(1) - server.Time.GetUtcNow());
        var rows = await RowsAsync(server, 3);
        await LookedAsync(server);
        Assert.Equal([Noon, due, due.AddDays(1)], rows.Select(r => r.FittedAt));
    }

    [Fact]
    public async Task A_night_reads_each_spot_once_and_the_others_of_its_site_only_where_one_lacks_air()
    {
        var (plaza, steps, fountain) = (NorthGate, QuarrySteps with { Site = NorthGate.Site }, QuarrySteps with { Id = SpotId.Parse("fountain"), Name = "Fountain", Site = NorthGate.Site });
        await using var server = await StartAsync(spots: [plaza, steps, fountain], services: CountingStore.Wrap);
        var whole = new OffsetOptions().Window.Days + 2;
        await server.MeasureAsync([.. Days(plaza, whole, At), .. Days(steps, whole, At), .. Days(fountain, whole, At)]);
        var store = server.Get<CountingStore>();
        store.Clear();

        Assert.Equal(3, (await server.Get<FitRunner>().RunAsync(null, null, Cancel)).Count);

        // The watch looks three days back meanwhile.
        static bool OfNight((SpotId Spot, DateTimeOffset From, DateTimeOffset To) asked) => asked.To - asked.From > TimeSpan.FromDays(70);
        Assert.Equal([plaza.Id, steps.Id, fountain.Id], store.Steps.Where(OfNight).Select(s => s.Spot).OrderBy(s => s == fountain.Id).ThenBy(s => s.Value, StringComparer.Ordinal));
        Assert.DoesNotContain(store.Ranges, OfNight);

        // One without a sensor of its own, whose air the three lend: each is read once more, however many lack it.
        await server.Get<SpotStore>().AddSpotAsync(fountain with { Id = SpotId.Parse("arch"), Name = "Arch" }, Cancel);
        await server.Get<SpotStore>().AddSpotAsync(fountain with { Id = SpotId.Parse("bridge"), Name = "Bridge" }, Cancel);
        server.Time.Advance(TimeSpan.FromSeconds(2));
        store.Clear();

        var results = await server.Get<FitRunner>().RunAsync(null, null, Cancel);

        Assert.Equal(["north-gate-plaza", "quarry-steps", "fountain", "arch", "bridge"], results.Select(r => r.Spot.Id.Value));
        Assert.Equal([2, 2, 2, 2, 2], store.Steps.Where(OfNight).CountBy(s => s.Spot).Select(s => s.Value));
        Assert.DoesNotContain(store.Ranges, OfNight);
    }

    [Fact]
    public async Task Where_a_spot_lacks_air_for_an_hour_the_others_are_asked_for_that_hour_and_lend_theirs()
    {
        await using var server = await StartAsync(spots: [NorthGate, QuarrySteps with { Site = NorthGate.Site }], services: CountingStore.Wrap);
        var gap = (From: Noon.AddDays(-1), To: Noon.AddDays(-1).AddHours(1));
        await server.MeasureAsync([.. Days(NorthGate, 4, At).Select(r => r.MeasuredAt > gap.From && r.MeasuredAt <= gap.To ? r with { AirCelsius = null } : r)]);
        await server.MeasureAsync([.. Days(QuarrySteps, 4, At).Select(r => r with { AirCelsius = 19 })]);
        var store = server.Get<CountingStore>();
        store.Clear();

        var samples = await server.Get<SiteWeather>().LoadAsync(NorthGate, Noon.AddDays(-3), Noon.AddTicks(1), Cancel);

        // The watch may ask for the last three days meanwhile.
        Assert.Equal(
            [(NorthGate.Id, Noon.AddDays(-3), Noon.AddTicks(1)), (QuarrySteps.Id, gap.From.AddMilliseconds(1), gap.To.AddMilliseconds(1))],
            store.Steps.Where(s => s.To == Noon.AddTicks(1) || s.To < Noon.AddHours(-12)));
        Assert.Equal((3 * 144) + 1, samples.Count);
        Assert.Equal(6, samples.Count(s => s.AirCelsius == 19));
        Assert.All(samples, s => Assert.Equal(s.At > gap.From && s.At <= gap.To, s.AirCelsius == 19));
        Assert.Equal(samples, await server.Get<SiteWeather>().Over(Noon.AddDays(-3), Noon.AddTicks(1), Cancel).LoadAsync(NorthGate));
    }

    [Fact]
    public async Task A_spot_whose_fit_fails_is_named_and_the_others_get_theirs()
    {
        await using var server = await StartAsync();
        var failures = new ConcurrentQueue<SpotId>();
        // No registry knows it, so that its fit cannot be kept.
        var stranger = NorthGate with { Id = SpotId.Parse("stranger") };
        server.ExpectedErrors = ["FOREIGN KEY", "INSERT INTO \"Fits\""];

        var results = await server.Get<FitRunner>().RunAsync([NorthGate, stranger, QuarrySteps], null, (spot, _) => failures.Enqueue(spot.Id), Cancel);

        Assert.Equal([NorthGate.Id, QuarrySteps.Id], results.Select(r => r.Spot.Id));
        Assert.Equal([stranger.Id], failures);
    }

    /// <summary>Waits until the nightly fits have looked at the clock as it is now.</summary>
    private static async Task LookedAsync(RunningServer server)
    {
        var nightly = server.App.Services.GetServices<IHostedService>().OfType<NightlyFits>().Single();
        await Patience.UntilAsync(() => nightly.LookedAt == server.Time.GetUtcNow(), () => $"looked at {nightly.LookedAt:u} last, now is {server.Time.GetUtcNow():u}");
    }

    private static double At(int day, double sun) => 24 + (30 * sun);

    private static async Task<FitResult> FitAsync(RunningServer server) =>
        Assert.Single(await server.Get<FitRunner>().RunAsync(NorthGate, null, Cancel));

    /// <summary>The last days up to now, a reading each ten minutes.</summary>
    private static IEnumerable<Reading> Days(Spot spot, int days, Func<int, double, double> surface, DateTimeOffset? now = null) =>
        Enumerable.Range(1, days * 144).Select(i =>
        {
            var at = (now ?? Noon) - TimeSpan.FromMinutes(((days * 144) - i) * 10);
            var sun = Math.Max(0, Math.Cos((at - Noon).TotalDays * 2 * Math.PI));
            return Good(spot, at, surface((i - 1) / 144, sun), 22 + (14 * sun));
        });

    /// <summary>The fits as soon as there are so many, by time.</summary>
    private static async Task<List<FitRow>> RowsAsync(RunningServer server, int count)
    {
        List<FitRow> rows = [];
        await Patience.UntilAsync(
            async () =>
            {
                await using var db = await server.Get<IDbContextFactory<RegistryDb>>().CreateDbContextAsync(Cancel);
                rows = await db.Fits.AsNoTracking().OrderBy(f => f.FittedAt).ThenBy(f => f.SpotId).ToListAsync(Cancel);
                return rows.Count >= count;
            },
            () => $"{rows.Count} fits, not {count}");
        return rows;
    }
}
