using Microsoft.EntityFrameworkCore;
using PavementWatch.Core.Alerts;
using PavementWatch.Core.Contact;
using PavementWatch.Core.Readings;
using PavementWatch.Core.Surfaces;
using PavementWatch.Dashboards.Texts;
using PavementWatch.Server.Database;
using PavementWatch.Server.Notifications;
using PavementWatch.Server.Setup;
using PavementWatch.Server.Watch;
using static PavementWatch.Server.Tests.Api.RunningServer;

namespace PavementWatch.Server.Tests.Watch;

/// <summary>Freezing ground is watched as hot ground is.</summary>
public sealed class ColdWatchTests
{
    private static CancellationToken Cancel => TestContext.Current.CancellationToken;

    [Fact]
    public async Task A_spots_own_cold_limit_tells_of_it_sooner_and_its_change_is_told_as_that_and_ice_as_ice()
    {
        await using var server = await StartAsync();
        await server.Get<SpotStore>().EditSpotAsync(NorthGate.Id, s => s with { ColdLimitCelsius = 5 }, LimitChanger.Business, Cancel);
        await EachMinuteAsync(2, 4.5);
        Assert.Equal([(NorthGate.Id.Value, AlertReason.ReadingsOverLimit)], await ToldAsync());
        var shown = server.Get<SpotBoard>().Find(NorthGate.Id)!;
        Assert.Equal((5.0, AlertSide.Cold, 5.0), (shown.ColdLimitCelsius, Assert.Single(shown.Standing).Side, shown.Standing[0].LimitCelsius));

        // Who lowers it is told of, and the ground is no warmer for it.
        await server.Get<SpotStore>().EditSpotAsync(NorthGate.Id, s => s with { ColdLimitCelsius = null }, LimitChanger.Business, Cancel);
        await EachMinuteAsync(12, 4.5);
        Assert.Equal([(NorthGate.Id.Value, AlertReason.ReadingsOverLimit), (NorthGate.Id.Value, AlertReason.UnderRaisedLimit)], await ToldAsync());
        Assert.StartsWith(
            "A: the cold limit was changed by the business from 5 °C (41 °F) to 0 °C (32 °F); the ground is at ",
            AlertTexts.Whole("A", (await EventsAsync())[^1].Decision(), "Etc/UTC", TemperatureUnit.Both), StringComparison.Ordinal);

        await EachMinuteAsync(2, -1);
        Assert.Equal([NorthGate.Id.Value, QuarrySteps.Id.Value], (await EventsAsync()).Where(e => e.Because == AlertReason.ReadingsOverLimit && e.LimitCelsius == 0).Select(e => e.SpotId).Order());

        async Task EachMinuteAsync(int minutes, double celsius)
        {
            for (var i = 0; i < minutes; i++)
            {
                await server.MinuteAsync(NorthGate);
                var now = server.Time.GetUtcNow();
                await server.MeasureAsync(Good(NorthGate, now, celsius, air: 4), Good(QuarrySteps, now, celsius, air: 4));
                await server.SeenAsync(NorthGate, s => s.MeasuredAt == now);
                await server.SeenAsync(QuarrySteps, s => s.MeasuredAt == now);
            }

            // What was read is stepped before a later minute.
            await server.MinuteAsync(NorthGate);
            await server.MinuteAsync(QuarrySteps);
        }

        async Task<List<(string, AlertReason)>> ToldAsync() =>
            [.. (await EventsAsync()).Where(e => e.Because is not (AlertReason.TrendReachesLimit or AlertReason.ForecastReachesLimit)).Select(e => (e.SpotId, e.Because))];

        async Task<List<AlertEventRow>> EventsAsync()
        {
            await using var db = await server.Get<IDbContextFactory<RegistryDb>>().CreateDbContextAsync(Cancel);
            return await db.AlertEvents.AsNoTracking().Where(e => e.Notified).OrderBy(e => e.Id).ToListAsync(Cancel);
        }
    }

    [Fact]
    public async Task Freezing_ground_is_told_once_with_its_own_words_and_remembered_beside_the_heat()
    {
        await using var server = await StartAsync();
        var celsius = new[] { 3.0, -1, -1.5, -2, -2 };
        for (var i = 0; i < celsius.Length; i++)
        {
            await server.MeasureAsync(Good(NorthGate, Noon.AddMinutes(i), celsius[i], air: 0));
            await server.SeenAsync(NorthGate, s => s.SurfaceCelsius == celsius[i] && s.MeasuredAt == Noon.AddMinutes(i));
            await server.MinuteAsync(NorthGate);
        }

        await using var db = await server.Get<IDbContextFactory<RegistryDb>>().CreateDbContextAsync(Cancel);
        var told = await db.AlertEvents.AsNoTracking().Where(e => e.SpotId == "north-gate-plaza" && e.Notified).OrderBy(e => e.Id).ToListAsync(Cancel);
        var freezing = Assert.Single(told, e => e.Because == AlertReason.ReadingsOverLimit);
        Assert.All(told, e => Assert.Equal(AlertSide.Cold, e.Side));
        Assert.Equal((0.0, -1.5, Noon.AddMinutes(2)), (freezing.LimitCelsius, freezing.SurfaceCelsius, freezing.LastGoodAt));
        Assert.StartsWith("North Gate plaza is freezing: the ground is at ", AlertTexts.Whole("North Gate plaza", freezing.Decision(), "Etc/UTC", TemperatureUnit.Both), StringComparison.Ordinal);
        var memory = (await server.Get<AlertStore>().LoadAsync(NorthGate.Id, Cancel))!.Value.Memory;
        Assert.Equal((AlertState.Clear, AlertState.TooHot), (memory.State, memory.Cold!.State));
    }

    [Fact]
    public async Task No_spot_is_shown_warmer_than_a_reading_in_doubt_that_walkers_are_told_of_as_freezing()
    {
        await using var server = await StartAsync();
        for (var i = 0; i < 4; i++)
        {
            var now = Noon.AddMinutes(i);
            // Sleet: the damp comes with the fall.
            await server.MeasureAsync(i < 2
                ? Good(NorthGate, now, 3.5, air: 3) with { HumidityPercent = 72 }
                : Good(NorthGate, now, -0.4, air: 2) with { HumidityPercent = 97, Quality = ReadingQuality.Suspect, Doubt = Doubt.Wet });
            await server.SeenAsync(NorthGate, s => s.MeasuredAt == now || s.Doubt.HasFlag(Doubt.Wet));
            await server.MinuteAsync(NorthGate);
        }

        var shown = server.Get<SpotBoard>().Find(NorthGate.Id)!;
        Assert.Equal((-0.4, GroundWord.Freezing, true), (shown.SurfaceCelsius!.Value, shown.Word, shown.MayBeIcy));
    }
}
