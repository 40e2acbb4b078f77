using PavementWatch.Core.Readings;

namespace PavementWatch.Core.Tests.Wire;

public class DoubtsTests
{
    [Fact]
    public void Every_doubt_has_a_word_of_its_own_that_reads_back()
    {
        var doubts = Enum.GetValues<Doubt>().Where(d => d != Doubt.None).ToList();
        Assert.Equal(doubts.Count, doubts.Select(Doubts.Text).Where(w => w.Length > 0).Distinct().Count());
        Assert.All(doubts, d =>
        {
            Assert.True(Doubts.TryParse(Doubts.Text(d), out var back));
            Assert.Equal(d, back);
        });
    }

    [Theory]
    [InlineData(null)]
    [InlineData("")]
    [InlineData("Spike")]
    [InlineData("spike,wet")]
    public void What_is_no_word_is_no_doubt(string? word)
    {
        Assert.False(Doubts.TryParse(word, out var doubt));
        Assert.Equal(Doubt.None, doubt);
    }
}
