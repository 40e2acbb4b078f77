using PavementWatch.Gateway.Publishing;

namespace PavementWatch.Gateway.Tests.Publishing;

public sealed class BackOffTests
{
    [Fact]
    public void Pauses_double_up_to_the_longest_and_are_scattered_over_their_upper_half()
    {
        var backOff = new BackOff(TimeSpan.FromSeconds(1), TimeSpan.FromSeconds(60), new Random(4));

        var pauses = Enumerable.Range(0, 200).Select(_ => backOff.Next().TotalSeconds).ToList();

        double[] full = [1, 2, 4, 8, 16, 32, 60, 60];
        for (var i = 0; i < full.Length; i++)
            Assert.InRange(pauses[i], full[i] / 2, full[i]);
        Assert.All(pauses[8..], pause => Assert.InRange(pause, 30, 60));
        Assert.True(pauses[8..].Distinct().Count() > 150, "not scattered");
    }

    [Fact]
    public void Success_begins_anew()
    {
        var backOff = new BackOff(TimeSpan.FromSeconds(1), TimeSpan.FromMinutes(5), new Random(4));
        for (var i = 0; i < 10; i++)
            backOff.Next();

        backOff.Reset();

        Assert.InRange(backOff.Next().TotalSeconds, 0.5, 1);
    }
}
