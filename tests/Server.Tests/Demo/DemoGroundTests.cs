using PavementWatch.Core.Readings;
using PavementWatch.Server.Demo;

namespace PavementWatch.Server.Tests.Demo;

/// <summary>The demo's day is invented, but must look like a day: in the order and the span that measurements show.</summary>
public sealed class DemoGroundTests
{
    private static readonly DateTimeOffset Noon = DemoDay.Summer.Morning.AddHours(4);
    private readonly DemoGround _ground = new(DemoDay.Summer, DemoTown.Spots, DemoDay.Summer.Morning);

    [Theory]
    // Offsets over air at the hottest hour; Chestovich et al. 2023: asphalt +25.6 K, concrete +13.3 K, sand +12.8 K in desert sun.
    [InlineData("north-gate-plaza", 20, 32)]
    [InlineData("quarry-steps", 8, 20)]
    [InlineData("sandpit-corner", 10, 26)]
    // A wood dock in sun stood 37 K over the air (reference, NWS Phoenix, emissivity unknown).
    [InlineData("mill-footbridge", 14, 38)]
    // Common practice, no source: green grass stays near the air.
    [InlineData("orchard-green", -4, 8)]
    public void Hottest_offset_of_each_surface_is_one_that_was_measured_somewhere(string spot, double least, double most)
    {
        var highest = Enumerable.Range(0, 8 * 12)
            .Select(step => Noon.AddMinutes(5 * step))
            .Max(at => _ground.SurfaceCelsius(SpotId.Parse(spot), at) - DemoDay.Summer.At(at).AirCelsius);
        Assert.InRange(highest, least, most);
    }

    [Fact]
    public void Plaza_passes_the_limit_in_the_first_half_minute_of_the_demo_and_not_at_its_start()
    {
        var plaza = SpotId.Parse("north-gate-plaza");
        Assert.True(_ground.SurfaceCelsius(plaza, DemoDay.Summer.Morning) < 40);
        var crossing = Enumerable.Range(0, 12 * 60).First(minute => _ground.SurfaceCelsius(plaza, DemoDay.Summer.Morning.AddMinutes(minute)) >= 49);
        // 600 times life: half a minute is five hours.
        Assert.InRange(crossing, 60, 270);
    }

    [Fact]
    public void Cloud_bank_cools_the_plaza_by_some_degrees()
    {
        var plaza = SpotId.Parse("north-gate-plaza");
        var before = _ground.SurfaceCelsius(plaza, Noon.AddHours(3).AddMinutes(8));
        var under = _ground.SurfaceCelsius(plaza, Noon.AddHours(3).AddMinutes(44));
        Assert.InRange(before - under, 3, 20);
    }
}
