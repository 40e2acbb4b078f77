using PavementWatch.Core.Contact;

namespace PavementWatch.Core.Tests.Contact;

public sealed class IceTests
{
    // Air of 2 °C and 80 % has its dew point at −1.1 °C, see the tests of vapour pressure.
    [Theory]
    [InlineData(0.0, 2.0, 80.0, true, true, "wet")]
    [InlineData(0.1, 2.0, 100.0, true, false, "over freezing")]
    [InlineData(0.04, 2.0, 80.0, true, true, "freezing, as it is shown")]
    [InlineData(-1.2, 2.0, 80.0, false, true, "under the dew point")]
    [InlineData(-1.0, 2.0, 80.0, false, false, "over the dew point, dry")]
    [InlineData(-1.0, null, 80.0, false, true, "the air is not known")]
    [InlineData(-1.0, 2.0, null, false, true, "its humidity is not known")]
    [InlineData(-20.0, -18.0, 0.0, false, false, "no vapour at all")]
    [InlineData(double.NaN, 2.0, 80.0, true, false, "nothing known of the ground")]
    public void Ground_may_be_icy_where_it_is_wet_or_takes_on_frost(double surface, double? air, double? humidity, bool wet, bool icy, string why) =>
        Assert.True(icy == Ice.MayForm(surface, air, humidity, wet), why);
}
