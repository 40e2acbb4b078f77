using PavementWatch.Core.Readings;

namespace PavementWatch.EndToEnd.Tests.Soak;

/// <summary>What the soak takes for the same reading.</summary>
public sealed class ReckoningTests
{
    private static readonly Reading Sent = new(SpotId.Parse("north-gate-plaza"), new DateTimeOffset(2026, 7, 14, 17, 0, 0, TimeSpan.Zero)) { SurfaceCelsius = 55, AirCelsius = 34 };

    [Theory]
    [InlineData(Doubt.None, Doubt.None, true)]
    [InlineData(Doubt.None, Doubt.Stuck, true)]
    [InlineData(Doubt.Clock, Doubt.Clock | Doubt.Wet, true)]
    [InlineData(Doubt.Spike, Doubt.Spike | Doubt.Disagrees, true)]
    // Believed.
    [InlineData(Doubt.Spike, Doubt.None, true)]
    [InlineData(Doubt.Stuck, Doubt.None, false)]
    [InlineData(Doubt.Spike | Doubt.Clock, Doubt.Clock, false)]
    [InlineData(Doubt.None, Doubt.CheckByte, false)]
    public void The_server_adds_doubts_of_its_own_and_takes_no_other_away(Doubt sent, Doubt stored, bool same) =>
        Assert.Equal(same, Reckoning.IsAsJudged(Of(sent), Of(stored)));

    [Fact]
    public void What_was_measured_stays_and_a_doubt_never_comes_or_goes_without_the_quality()
    {
        Assert.False(Reckoning.IsAsJudged(Sent, Of(Doubt.Wet) with { SurfaceCelsius = 54 }));
        Assert.False(Reckoning.IsAsJudged(Sent, Of(Doubt.Wet) with { Quality = ReadingQuality.Good }));
        Assert.False(Reckoning.IsAsJudged(Sent, Sent with { Quality = ReadingQuality.Suspect }));
        Assert.False(Reckoning.IsAsJudged(Sent with { Quality = ReadingQuality.Rejected }, Of(Doubt.Stuck)));
    }

    private static Reading Of(Doubt doubt) => Sent with { Doubt = doubt, Quality = doubt == Doubt.None ? ReadingQuality.Good : ReadingQuality.Suspect };
}
