using CsCheck;
using Microsoft.Extensions.Time.Testing;
using PavementWatch.Core.Readings;
using PavementWatch.Core.Wire;
using PavementWatch.Gateway.Gpio;
using PavementWatch.Gateway.Sampling;
using PavementWatch.Gateway.Spots;

namespace PavementWatch.Gateway.Tests.Gpio;

/// <summary>What the lamp says whatever comes, whatever is set and whatever the calendar says.</summary>
public sealed class LampPropertyTests
{
    private static readonly DateTimeOffset Start = new(2026, 7, 14, 18, 0, 0, TimeSpan.Zero);
    private static readonly SpotId[] Spots = [SpotId.Parse("plaza"), SpotId.Parse("steps")];

    /// <summary>What happens next at a gateway.</summary>
    private enum Kind
    {
        Reading,
        Limit,
        Estimate,
        Calendar,
        Nothing,
    }

    [Fact]
    public void It_never_shows_a_spot_cooler_than_its_newest_live_reading() => Gen.Select(Events.Array[1, 60], Gen.Int[1, 10]).Sample(
        (events, intervalMinutes) =>
        {
            var time = new FakeTimeProvider(Start);
            var latest = new LatestReadings(time);
            var limits = Spots.ToDictionary(spot => spot.Value, _ => 49.0);
            var estimates = new Dictionary<string, SpotEstimate>();
            var came = new List<(SpotId Spot, DateTimeOffset At, ReadingQuality Quality, double Celsius)>();
            var interval = TimeSpan.FromMinutes(intervalMinutes);
            var calendarIsOff = TimeSpan.Zero;
            foreach (var one in events)
            {
                time.Advance(one.After);
                var calendar = time.GetUtcNow() + calendarIsOff;
                switch (one.Kind)
                {
                    case Kind.Reading:
                        latest.Take([new Reading(one.Spot, calendar) { SurfaceCelsius = one.Celsius, Quality = one.Quality }]);
                        if (one.Celsius is { } celsius)
                            came.Add((one.Spot, time.GetUtcNow(), one.Quality, celsius));
                        break;
                    case Kind.Limit:
                        limits[one.Spot.Value] = one.Celsius ?? 49;
                        break;
                    case Kind.Estimate when one.Celsius is { } upper:
                        estimates[one.Spot.Value] = new SpotEstimate(upper - 5, upper, calendar + one.Off);
                        break;
                    case Kind.Calendar:
                        calendarIsOff = one.Off;
                        break;
                }

                var table = new SpotTable();
                foreach (var (spot, limit) in limits)
                    table[spot] = new SpotOptions { LimitCelsius = limit };
                var signal = LampRule.Signal(table, latest, estimates, time.GetUtcNow() + calendarIsOff, interval, time.GetUtcNow() - Start);
                foreach (var spot in Spots)
                {
                    var live = came.Where(c => c.Spot == spot && c.Quality != ReadingQuality.Rejected && time.GetUtcNow() - c.At <= 3 * interval).ToList();
                    if (live.Count > 0 && live[^1].Celsius >= limits[spot.Value])
                        Assert.True(signal == LampSignal.TooHot, $"{spot} is at {live[^1]}, limit {limits[spot.Value]}: {signal}");
                    // Dark is said by a good reading that is live, or before the first is missing.
                    var cleared = live.Exists(c => c.Quality == ReadingQuality.Good && c.Celsius < limits[spot.Value]);
                    if (signal == LampSignal.Comfortable && !cleared)
                        Assert.True(
                            time.GetUtcNow() - Start <= 3 * interval && !came.Exists(c => c.Spot == spot && c.Quality == ReadingQuality.Good),
                            $"nothing good came of {spot} of late, and the lamp is dark");
                }
            }
        },
        iter: 5000);

    private static readonly Gen<(Kind Kind, SpotId Spot, TimeSpan After, ReadingQuality Quality, double? Celsius, TimeSpan Off)> Events = Gen.Select(
        Gen.Frequency((8, Gen.Const(Kind.Reading)), (1, Gen.Const(Kind.Limit)), (1, Gen.Const(Kind.Estimate)), (1, Gen.Const(Kind.Calendar)), (1, Gen.Const(Kind.Nothing))),
        OneOf(Spots),
        Gen.Frequency((6, Gen.Int[1, 120]), (1, Gen.Int[120, 10_000])).Select(seconds => TimeSpan.FromSeconds(seconds)),
        OneOf(ReadingQuality.Good, ReadingQuality.Good, ReadingQuality.Suspect, ReadingQuality.Rejected),
        Gen.Frequency((1, OneOf((double?)null)), (3, OneOf<double?>(30, 46.9, 47, 48.9, 49, 49.1, 60)), (5, Gen.Double[20, 75].Select(celsius => (double?)celsius))),
        OneOf(0, 50, -50, 3600, -7200, 400 * 86_400, -400 * 86_400).Select(seconds => TimeSpan.FromSeconds(seconds)));

    private static Gen<T> OneOf<T>(params T[] values) => Gen.Int[0, values.Length - 1].Select(i => values[i]);
}
