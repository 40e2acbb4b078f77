using CsCheck;
using PavementWatch.Core.Contact;
using PavementWatch.Tests;

namespace PavementWatch.Core.Tests.Contact;

public sealed class ContactDoseTests
{
    private const string ByHand = "worked by hand from the ASTM C1055 row: 52.242 °C in 60 s, 49.366 °C in 5 min, 48.292 °C in 10 min";

    [Fact]
    public void Times_add_up_each_over_what_hurts_there()
    {
        ContactStretch[] route = [new(52.242, TimeSpan.FromSeconds(15)), new(49.366, TimeSpan.FromMinutes(2)), new(48.292, TimeSpan.FromMinutes(1))];
        // 15/60 + 2/5 + 1/10
        Published.Near(0.75, ContactDose.Of(route), 5e-4, ByHand);
        Assert.Null(ContactDose.HurtAfter(route));
    }

    [Fact]
    public void Skin_is_hurt_where_the_sum_reaches_one()
    {
        ContactStretch[] route = [new(25, TimeSpan.FromMinutes(20)), new(48.292, TimeSpan.FromMinutes(5)), new(52.242, TimeSpan.FromMinutes(2))];
        // Grass counts nothing, the steps half; half a minute on the plaza is the other half.
        Published.Near(25.5, ContactDose.HurtAfter(route)!.Value.TotalMinutes, 0.02, ByHand);
    }

    [Fact]
    public void Ground_that_hurts_at_once_hurts_when_it_is_reached()
    {
        ContactStretch[] route = [new(30, TimeSpan.FromMinutes(3)), new(70, TimeSpan.FromSeconds(1))];
        Assert.Equal(double.PositiveInfinity, ContactDose.Of(route));
        Assert.Equal(TimeSpan.FromMinutes(3), ContactDose.HurtAfter(route));
        Assert.Equal(0, ContactDose.Of([new(70, TimeSpan.Zero)]));
        Assert.Equal(0, ContactDose.Of([]));
    }

    [Theory]
    [InlineData(43.76, false)]
    [InlineData(43.78, true)]
    public void Ground_counts_from_what_hurts_within_six_hours(double celsius, bool counts) =>
        Assert.Equal(counts, ContactDose.Of([new(celsius, TimeSpan.FromHours(1))]) > 0);

    [Fact]
    public void A_hotter_stretch_never_makes_the_dose_smaller_nor_the_hurt_later() =>
        Gen.Select(Gen.Double[20, 64], Gen.Double[0, 10], Gen.Double[0, 60], Gen.Double[20, 64]).Sample((celsius, more, minutes, other) =>
        {
            ContactStretch[] cooler = [new(other, TimeSpan.FromMinutes(3)), new(celsius, TimeSpan.FromMinutes(minutes))];
            ContactStretch[] hotter = [cooler[0], cooler[1] with { SurfaceCelsius = celsius + more }];
            return ContactDose.Of(hotter) >= ContactDose.Of(cooler)
                && (ContactDose.HurtAfter(hotter) ?? TimeSpan.MaxValue) <= (ContactDose.HurtAfter(cooler) ?? TimeSpan.MaxValue);
        });

    [Fact]
    public void What_cannot_be_a_stretch_is_refused()
    {
        Assert.Throws<ArgumentOutOfRangeException>(() => ContactDose.Of([new(30, TimeSpan.FromSeconds(-1))]));
        Assert.Throws<ArgumentOutOfRangeException>(() => ContactDose.Of([new(double.NaN, TimeSpan.FromSeconds(1))]));
    }
}
