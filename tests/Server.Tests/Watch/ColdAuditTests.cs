using Microsoft.EntityFrameworkCore;
using Microsoft.Extensions.Time.Testing;
using PavementWatch.Core.Alerts;
using PavementWatch.Core.Readings;
using PavementWatch.Server.Database;
using PavementWatch.Server.Notifications;
using PavementWatch.Server.Store;
using static PavementWatch.Server.Tests.Api.RunningServer;

namespace PavementWatch.Server.Tests.Watch;

/// <summary>Evenings of frost and thaw with gaps and doubts: what the stored readings call for was told once.</summary>
public sealed class ColdAuditTests
{
    private static readonly TimeSpan Minute = TimeSpan.FromMinutes(1);

    // Five in the evening, so that no midnight ends what was told.
    private static readonly DateTimeOffset Evening = new(2026, 1, 14, 23, 0, 0, TimeSpan.Zero);

    private static readonly AlertReason[] Told =
        [AlertReason.ReadingsOverLimit, AlertReason.OverLimitAgain, AlertReason.EstimateOverLimit, AlertReason.DoubtfulOverLimit];

    private static CancellationToken Cancel => TestContext.Current.CancellationToken;

    [Theory]
    [InlineData(1)]
    [InlineData(20260114)]
    [InlineData(987654321)]
    public async Task Whatever_the_evening_freezing_and_bitter_ground_is_told_once_and_stands_told(int seed)
    {
        var random = new Random(seed);
        await using var server = await StartAsync(time: new FakeTimeProvider(Evening));
        var (celsius, towards) = (4.0, -3.0);
        for (var minute = 0; minute < 160; minute++)
        {
            if (random.Next(25) == 0)
                towards = OneOf(random, [-14, -11, -3, -1, 0.5, 3, 6]);
            celsius = Math.Round(celsius + Math.Clamp(towards - celsius, -0.9, 0.9) + (0.6 * (random.NextDouble() - 0.5)), 2);
            var now = server.Time.GetUtcNow();
            if (random.Next(30) == 0)
            {
                for (var silent = random.Next(2, 12); silent > 0; silent--, minute++)
                    await server.MinuteAsync(NorthGate);
                continue;
            }

            var isDoubtful = random.Next(10) == 0;
            await server.MeasureAsync(Good(NorthGate, now, celsius, air: celsius + 1) with
            {
                Quality = isDoubtful ? ReadingQuality.Suspect : ReadingQuality.Good,
                Doubt = isDoubtful ? Doubt.Spike : Doubt.None,
            });
            if (!isDoubtful)
                await server.SeenAsync(NorthGate, s => s.MeasuredAt == now);
            await server.MinuteAsync(NorthGate);
        }

        var stored = await server.Get<IReadingStore>().RangeAsync(NorthGate.Id, Evening.AddDays(-1), Evening.AddDays(1), Cancel);
        await using var db = await server.Get<IDbContextFactory<RegistryDb>>().CreateDbContextAsync(Cancel);
        var changes = await db.AlertEvents.AsNoTracking().Where(e => e.SpotId == NorthGate.Id.Value && e.Side == AlertSide.Cold && e.Notified).OrderBy(e => e.Id).ToListAsync(Cancel);
        var (freezing, bitter) = (0, 0);
        foreach (var (first, second) in stored.Zip(stored.Skip(1)))
        {
            if (second.Reading.MeasuredAt - first.Reading.MeasuredAt > Minute || first.Reading.Quality != ReadingQuality.Good || second.Reading.Quality != ReadingQuality.Good)
                continue;
            var warmest = Math.Max(first.Reading.SurfaceCelsius!.Value, second.Reading.SurfaceCelsius!.Value);
            var before = changes.Where(change => change.At <= second.ReceivedAt + Minute).ToList();
            if (warmest <= 0)
            {
                freezing++;
                Assert.True(
                    before.LastOrDefault(change => Told.Contains(change.Because) || IsOver(change)) is { } last && !IsOver(last),
                    $"seed {seed}: freezes at {second}, and nobody stands told: {Written(before)}");
            }

            if (warmest <= -10)
            {
                bitter++;
                Assert.True(before.Exists(change => change.Because is AlertReason.ReadingsExtreme or AlertReason.EstimateExtreme), $"seed {seed}: bitter at {second}, and nobody was told: {Written(before)}");
            }
        }

        Assert.True(freezing > 15, $"seed {seed}: {freezing} times it froze, {bitter} times bitterly");
        AlertEventRow? standing = null;
        AlertEventRow? extreme = null;
        foreach (var change in changes)
        {
            if (IsOver(change))
            {
                (standing, extreme) = (null, null);
            }
            else if (Told.Contains(change.Because))
            {
                Assert.True(standing is null, $"seed {seed}: told at {standing?.At:O} and again at {change.At:O}: {Written(changes)}");
                standing = change;
            }
            else if (change.Because is AlertReason.ReadingsExtreme or AlertReason.EstimateExtreme)
            {
                Assert.True(extreme is null, $"seed {seed}: bitter told at {extreme?.At:O} and again at {change.At:O}: {Written(changes)}");
                extreme = change;
            }
        }
    }

    private static bool IsOver(AlertEventRow change) => change.Because is AlertReason.UnderLongEnough or AlertReason.EstimateUnderLongEnough;

    private static double OneOf(Random random, double[] values) => values[random.Next(values.Length)];

    private static string Written(IEnumerable<AlertEventRow> changes) => string.Join("; ", changes.Select(change => $"{change.At:T} {change.Because} {change.SurfaceCelsius}"));
}
