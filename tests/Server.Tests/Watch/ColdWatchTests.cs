using Microsoft.EntityFrameworkCore;
using PavementWatch.Core.Alerts;
using PavementWatch.Dashboards.Texts;
using PavementWatch.Server.Database;
using PavementWatch.Server.Notifications;
using PavementWatch.Server.Watch;
using static PavementWatch.Server.Tests.Api.RunningServer;

namespace PavementWatch.Server.Tests.Watch;

/// <summary>Freezing ground is watched as hot ground is.</summary>
public sealed class ColdWatchTests
{
    private static CancellationToken Cancel => TestContext.Current.CancellationToken;

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
}
