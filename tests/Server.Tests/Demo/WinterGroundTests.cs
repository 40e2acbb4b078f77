using PavementWatch.Core.Contact;
using PavementWatch.Core.Readings;
using PavementWatch.Server.Demo;

namespace PavementWatch.Server.Tests.Demo;

/// <summary>The demo's winter day is invented, but freezes and thaws in the order in which ground does.</summary>
public sealed class WinterGroundTests
{
    private static readonly DemoDay Day = DemoDay.Winter;
    private readonly DemoGround _ground = new(Day, DemoTown.Spots, Day.Morning);

    [Fact]
    public void Nothing_is_frozen_at_the_start_and_everything_at_sunrise_and_all_of_it_is_over_by_noon()
    {
        foreach (var spot in DemoTown.Spots.Select(s => s.Spot.Id.Value))
        {
            Assert.True(At(spot, "03:00") > 1, $"{spot} begins at {At(spot, "03:00")} °C");
            Assert.True(At(spot, "07:43") < -0.5, $"{spot} is at {At(spot, "07:43")} °C at sunrise");
            Assert.InRange(At(spot, "12:00"), 2.5, 25);
        }
    }

    [Fact]
    public void Boards_freeze_first_and_are_bitter_at_sunrise_and_slabs_in_shade_thaw_last()
    {
        var freezes = DemoTown.Spots.ToDictionary(s => s.Spot.Id.Value, s => First(s.Spot.Id.Value, "03:00", c => c <= GroundWords.FreezingUpToCelsius));
        Assert.Equal("mill-footbridge", freezes.MinBy(f => f.Value).Key);
        Assert.True(At("mill-footbridge", "07:43") < GroundWords.BitterBelowCelsius, $"{At("mill-footbridge", "07:43")} °C");
        var thaws = DemoTown.Spots.ToDictionary(s => s.Spot.Id.Value, s => First(s.Spot.Id.Value, "08:00", c => c > 2));
        Assert.Equal("quarry-steps", thaws.MaxBy(t => t.Value).Key);
        Assert.InRange(thaws["quarry-steps"], Clock("11:00"), Clock("11:45"));
    }

    [Fact]
    public void Hoar_frost_lies_on_the_boards_at_sunrise_out_of_the_air_alone()
    {
        var sky = Day.At(Clock("07:43"));
        Assert.True(Ice.MayForm(At("mill-footbridge", "07:43"), sky.AirCelsius, sky.HumidityPercent, wet: false), $"{sky}");
        Assert.InRange(sky.AirCelsius, -8, -6);
    }

    [Fact]
    public void The_weeks_before_are_winter_too_without_a_leap_of_the_air()
    {
        var minutes = Enumerable.Range(0, (DemoTown.PastDays * 1440) + 1440).Select(i => Day.At(Day.Morning.AddDays(-DemoTown.PastDays).AddMinutes(i))).ToList();
        Assert.InRange(minutes.Min(s => s.AirCelsius), -10, -3);
        Assert.InRange(minutes.Max(s => s.AirCelsius), 8, 15);
        Assert.True(minutes.Zip(minutes.Skip(1)).Max(two => Math.Abs(two.Second.AirCelsius - two.First.AirCelsius)) < 0.1);
        Assert.Contains(minutes, s => s.CloudFraction == 1);
        Assert.Contains(minutes, s => s.CloudFraction == 0);
    }

    private static DateTimeOffset Clock(string clock) => Day.Midnight + TimeSpan.Parse(clock, System.Globalization.CultureInfo.InvariantCulture);

    private double At(string spot, string clock) => _ground.SurfaceCelsius(SpotId.Parse(spot), Clock(clock));

    private DateTimeOffset First(string spot, string from, Func<double, bool> reached) => Enumerable.Range(0, 8 * 60)
        .Select(minute => Clock(from).AddMinutes(minute)).First(at => reached(_ground.SurfaceCelsius(SpotId.Parse(spot), at)));
}
