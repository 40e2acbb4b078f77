using System.Text;
using CsCheck;
using PavementWatch.Core.Readings;
using PavementWatch.Core.Wire;

namespace PavementWatch.Core.Tests.Wire;

/// <summary>The wire contract of the product (design, section 4); ranges: <see cref="ReadingRange"/>. Payloads are ours.</summary>
public class ReadingPackTests
{
    private static readonly DateTimeOffset Now = new(2026, 7, 15, 19, 0, 0, TimeSpan.Zero);
    private static readonly SpotId Plaza = SpotId.Parse("north-gate-plaza");

    [Fact]
    public void A_pack_looks_like_this()
    {
        var quarry = SpotId.Parse("quarry-steps");
        Reading[] readings =
        [
            new(Plaza, Now) { SurfaceCelsius = 58.25, AirCelsius = 34.5, HumidityPercent = 31 },
            new(Plaza, Now.AddMilliseconds(-60_500))
            {
                SurfaceCelsius = 0.00001, Quality = ReadingQuality.Suspect, Doubt = Doubt.Spike | Doubt.SensorHeating,
            },
            new(quarry, Now) { SensorCelsius = 40.1, LightLux = 90_000, SupplyVolts = 5.02 },
        ];
        Assert.Equal(
            """
            [{"bn":"north-gate-plaza/","bt":1784142000,"n":"surface","u":"Cel","v":58.25},
            {"n":"air","u":"Cel","v":34.5},{"n":"humidity","u":"%RH","v":31},
            {"bt":1784141939.5,"n":"surface","u":"Cel","v":1e-05},{"n":"quality","vs":"suspect:spike,sensor-heating"},
            {"bn":"quarry-steps/","bt":1784142000,"n":"sensor","u":"Cel","v":40.1},{"n":"light","u":"lx","v":90000},{"n":"supply","u":"V","v":5.02}]
            """.ReplaceLineEndings(""),
            Encoding.UTF8.GetString(ReadingPack.Write(readings)));
    }

    [Fact]
    public void How_far_the_samples_lay_apart_travels_beside_the_surface_and_a_pack_without_it_says_nothing_of_it()
    {
        var told = new Reading(Plaza, Now) { SurfaceCelsius = 58.25, SpreadKelvin = 0.213 };
        var pack = ReadingPack.Write([told]);
        const string before = """{"bn":"north-gate-plaza/","bt":1784142000,"n":"surface","u":"Cel","v":58.25}""";
        Assert.Equal($$"""[{{before}},{"n":"spread","u":"K","v":0.213}]""", Encoding.UTF8.GetString(pack));
        Assert.Equal(told, Assert.Single(Parsed(pack).Readings));

        var untold = Parsed(Encoding.UTF8.GetBytes($"[{before}]"));
        Assert.Empty(untold.Refused);
        Assert.Equal((58.25, null), (untold.Readings[0].SurfaceCelsius, untold.Readings[0].SpreadKelvin));
    }

    [Fact]
    public void What_goes_onto_the_wire_comes_back_equal() =>
        Readings.Sample(
            readings =>
            {
                var back = Parsed(ReadingPack.Write(readings));
                Assert.Empty(back.Refused);
                Assert.Equal(readings.OrderBy(r => r.MeasuredAt), back.Readings);
            },
            iter: 2_000);

    [Fact]
    public void Packs_keep_under_their_size_and_together_hold_every_reading_once() =>
        Gen.Select(Readings, Gen.Int[1024, 3000]).Sample(
            (readings, maxBytes) =>
            {
                var slices = ReadingPack.Split(readings, maxBytes);
                Assert.All(slices, s => Assert.InRange(s.Payload.Length, 2, maxBytes));
                Assert.Equal(readings.Count, slices.Sum(s => s.Count));
                foreach (var slice in slices)
                {
                    var expected = readings.Skip(slice.First).Take(slice.Count);
                    Assert.Equal(expected.OrderBy(r => r.MeasuredAt), Parsed(slice.Payload.Span).Readings);
                }
            },
            iter: 500);

    [Fact]
    public void A_day_of_backlog_of_five_spots_fits_in_packs_of_the_contracts_size()
    {
        var readings = Enumerable.Range(0, 1440 * 5)
            .Select(i => new Reading(SpotId.Parse($"spot-{i / 1440}"), Now.AddMinutes(-(i % 1440)))
            {
                SurfaceCelsius = 40.123 + i,
                AirCelsius = 30.456,
                HumidityPercent = 33.21,
            }).ToList();
        var slices = ReadingPack.Split(readings);
        Assert.InRange(slices.Count, 2, 20);
        Assert.All(slices, s => Assert.True(s.Payload.Length <= ReadingPack.MaxBytes));
    }

    [Fact]
    public void Nothing_to_send_makes_no_pack() => Assert.Empty(ReadingPack.Split([]));

    [Theory]
    [InlineData(double.NaN)]
    [InlineData(double.PositiveInfinity)]
    public void A_value_that_JSON_cannot_hold_is_not_written(double value)
    {
        var thrown = Assert.Throws<ArgumentException>(
            () => ReadingPack.Write([new Reading(Plaza, Now) { AirCelsius = value }]));
        Assert.Contains("air of north-gate-plaza", thrown.Message, StringComparison.Ordinal);
    }

    [Fact]
    public void A_reading_without_a_spot_is_not_written() =>
        Assert.Throws<ArgumentException>(() => ReadingPack.Write([new Reading(default, Now) { AirCelsius = 20 }]));

    [Fact]
    public void Doubt_makes_a_good_reading_suspect()
    {
        var said = new Reading(Plaza, Now) { SurfaceCelsius = 30, Quality = ReadingQuality.Good, Doubt = Doubt.Wet };
        Assert.Equal(said with { Quality = ReadingQuality.Suspect }, Assert.Single(Parsed(ReadingPack.Write([said])).Readings));
    }

    internal static Gen<IReadOnlyList<Reading>> Readings { get; } = MakeReadings();

    private static Gen<IReadOnlyList<Reading>> MakeReadings()
    {
        var spot = Gen.Int[0, 3].Select(i => SpotId.Parse($"spot-{i}"));
        // To the second and to the millisecond, over a year: relative times of every size.
        var when = Gen.OneOf(Gen.Long[0, 31_536_000].Select(s => s * 1000), Gen.Long[0, 31_536_000_000])
            .Select(ms => Now.AddMilliseconds(-ms));
        var values = Gen.Select(
            Gen.Double[-60, 120].Nullable(), Gen.Double[-60, 60].Nullable(), Gen.Double[0, 100].Nullable(),
            Gen.Double[-40, 125].Nullable(), Gen.Double[0, 200_000].Nullable(), Gen.Double[0, 60].Nullable(), Gen.Double[0, 100].Nullable());
        var quality = Gen.OneOf(
            Gen.Const((ReadingQuality.Good, Doubt.None)),
            Gen.Int[0, 511].Select(d => (ReadingQuality.Suspect, (Doubt)d)),
            Gen.Int[0, 511].Select(d => (ReadingQuality.Rejected, (Doubt)d)));
        return Gen.Select(spot, when, values, quality, (s, t, v, q) => new Reading(s, t)
        {
            SurfaceCelsius = v.Item1,
            AirCelsius = v.Item2,
            HumidityPercent = v.Item3,
            SensorCelsius = v.Item4,
            LightLux = v.Item5,
            SupplyVolts = v.Item6,
            SpreadKelvin = v.Item7,
            Quality = q.Item1,
            Doubt = q.Item2,
        }).List[0, 30].Select(list => (IReadOnlyList<Reading>)[.. list.DistinctBy(r => (r.Spot, r.MeasuredAt))]);
    }

    private static ReadingPackOutcome.Parsed Parsed(ReadOnlySpan<byte> payload) =>
        Assert.IsType<ReadingPackOutcome.Parsed>(ReadingPack.Read(payload, Now));
}
