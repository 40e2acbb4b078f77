using PavementWatch.Core.Mounting;

namespace PavementWatch.Core.Tests.Mounting;

public sealed class MountingAdviceTests
{
    [Theory]
    [InlineData(2.5, 12, 10, new[] { MountingConcern.PoleInView, MountingConcern.None })]
    [InlineData(2.5, 12, 20, new[] { MountingConcern.None, MountingConcern.None })]
    [InlineData(0.4, 5, 20, new[] { MountingConcern.SpotTooSmall, MountingConcern.WithinReach, MountingConcern.PoleInView, MountingConcern.None })]
    [InlineData(3, 35, 0, new[] { MountingConcern.SpotTooLarge, MountingConcern.PoleInView, MountingConcern.None })]
    [InlineData(2.4, 5, 30.5, new[] { MountingConcern.TooOblique, MountingConcern.None, MountingConcern.None })]
    public void Each_concern_is_named(double height, double view, double tilt, MountingConcern[] expected) =>
        Assert.Equal(expected, MountingAdvice.For(SensorFootprint.From(height, view, tilt)).Select(r => r.Concern));

    [Fact]
    public void The_arm_is_long_enough_to_keep_the_pole_out_of_view()
    {
        var remarks = MountingAdvice.For(SensorFootprint.From(2.5, 12));
        // By definition: half the spot of 0.526 m (check values 3.3 give 0.1051 m at 0.5 m) and 0.30 m clearance.
        Assert.Contains("arm that reaches 0.56 m", Assert.Single(remarks, r => r.Concern == MountingConcern.PoleInView).Text, StringComparison.Ordinal);
    }

    [Fact]
    public void The_patch_is_twice_the_spot() =>
        // Check values 3.3: 0.3153 m at 0.5 m and 35°.
        Assert.Contains("0.63 m across", MountingAdvice.For(SensorFootprint.From(0.5, 35))[^1].Text, StringComparison.Ordinal);
}
