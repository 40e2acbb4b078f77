using PavementWatch.Core.Mounting;
using PavementWatch.Tests;

namespace PavementWatch.Core.Tests.Mounting;

public sealed class SensorFootprintTests
{
    [Theory]
    //          height  view  diameter tolerance
    [InlineData(0.5, 90, 1.0000, 5e-5)]
    [InlineData(0.5, 35, 0.3153, 5e-5)]
    [InlineData(0.5, 12, 0.1051, 5e-5)]
    [InlineData(0.5, 10, 0.0875, 5e-5)]
    [InlineData(0.5, 5, 0.0437, 5e-5)]
    [InlineData(1.0, 90, 2.0000, 1e-4)]
    [InlineData(1.0, 35, 0.6306, 1e-4)]
    [InlineData(1.0, 5, 0.0874, 1e-4)]
    public void Spot_straight_below_agrees_with_the_check_values(double height, double view, double diameter, double tolerance)
    {
        const string source = "check values 3.3, 2·d·tan(FOV/2) computed apart from this code";
        var spot = SensorFootprint.From(height, view);
        Published.Near(diameter, spot.WidthMeters, tolerance, source);
        Published.Near(diameter, spot.LengthMeters, tolerance, source);
        Published.Near(0, spot.CenterMeters, 1e-12, "by definition: no tilt, nothing to the side");
    }

    [Theory]
    [InlineData(1.5, 35, 20)]
    [InlineData(2.5, 12, 30)]
    [InlineData(3.0, 10, 0)]
    [InlineData(0.6, 90, 35)]
    [InlineData(1.0, 5, 80)]
    public void Every_ray_on_the_rim_of_the_view_meets_the_ground_on_the_ellipse(double height, double view, double tilt)
    {
        var spot = SensorFootprint.From(height, view, tilt);
        for (var turn = 0; turn < 360; turn += 15)
        {
            var (x, y) = RimRayOnGround(height, view, tilt, turn);
            var along = (x - spot.CenterMeters) / (spot.LengthMeters / 2);
            var across = y / (spot.WidthMeters / 2);
            Published.Near(1, along * along + across * across, 1e-9, $"by definition: vector geometry, rim ray at {turn}°");
        }
    }

    [Fact]
    public void Tilting_lengthens_the_spot_and_moves_it_outwards()
    {
        var straight = SensorFootprint.From(2.5, 12);
        var tilted = SensorFootprint.From(2.5, 12, 30);
        Assert.True(tilted.LengthMeters > tilted.WidthMeters);
        Assert.True(tilted.WidthMeters > straight.WidthMeters);
        Assert.True(tilted.NearMeters > straight.FarMeters);
    }

    [Theory]
    [InlineData(0.05, 1, 0)]
    [InlineData(20, 120, 25)]
    [InlineData(1, 10, 80)]
    public void Ends_of_the_ranges_are_accepted(double height, double view, double tilt) =>
        Assert.True(SensorFootprint.From(height, view, tilt).LengthMeters > 0);

    [Theory]
    [InlineData(0.049, 12, 0, "heightMeters")]
    [InlineData(20.01, 12, 0, "heightMeters")]
    [InlineData(double.NaN, 12, 0, "heightMeters")]
    [InlineData(1, 0.9, 0, "fieldOfViewDegrees")]
    [InlineData(1, 120.1, 0, "fieldOfViewDegrees")]
    [InlineData(1, double.NaN, 0, "fieldOfViewDegrees")]
    [InlineData(1, 10, -0.1, "tiltDegrees")]
    [InlineData(1, 10, 80.1, "tiltDegrees")]
    [InlineData(1, 10, double.NaN, "tiltDegrees")]
    public void What_cannot_be_mounted_is_refused(double height, double view, double tilt, string named) =>
        Assert.Equal(named, Assert.Throws<ArgumentOutOfRangeException>(() => SensorFootprint.From(height, view, tilt)).ParamName);

    // A cone about the axis (sin tilt, 0, −cos tilt), cut with the ground at z = −height.
    private static (double X, double Y) RimRayOnGround(double height, double view, double tilt, double turn)
    {
        var half = view / 2 * Math.PI / 180;
        var t = tilt * Math.PI / 180;
        var phi = turn * Math.PI / 180;
        var (aside, up) = (Math.Sin(half) * Math.Sin(phi), Math.Sin(half) * Math.Cos(phi));
        var x = Math.Cos(half) * Math.Sin(t) + up * Math.Cos(t);
        var z = -Math.Cos(half) * Math.Cos(t) + up * Math.Sin(t);
        return (-height * x / z, -height * aside / z);
    }
}
