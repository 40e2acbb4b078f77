using CsCheck;
using PavementWatch.Core.Statistics;

namespace PavementWatch.Core.Tests.Statistics;

public class AscendingTests
{
    [Fact]
    public void Count_is_that_of_a_look_at_every_item() =>
        Gen.Int[0, 20].Array[0, 30].Select(Gen.Int[-1, 21]).Sample((items, bound) =>
        {
            Array.Sort(items);
            Assert.Equal(items.Count(item => item <= bound), Ascending.CountUpTo(items, bound, static (item, most) => item > most));
        });
}
