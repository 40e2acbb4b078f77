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
        var dose = ContactDose.Of([new(52.242, TimeSpan.FromSeconds(15)), new(49.366, TimeSpan.FromMinutes(2)), new(48.292, TimeSpan.FromMinutes(1))]);
        // 15/60 + 2/5 + 1/10
        Published.Near(0.75, dose.Fraction!.Value, 5e-4, ByHand);
        Assert.Equal((true, null), (dose.IsWhole, dose.HurtAfter));
    }

    [Fact]
    public void Skin_is_hurt_where_the_sum_reaches_one()
    {
        var dose = ContactDose.Of([new(25, TimeSpan.FromMinutes(20)), new(48.292, TimeSpan.FromMinutes(5)), new(52.242, TimeSpan.FromMinutes(2))]);
        // Grass counts nothing, the steps half; half a minute on the plaza is the other half.
        Published.Near(25.5, dose.HurtAfter!.Value.TotalMinutes, 0.02, ByHand);
        Published.Near(2.5, dose.Fraction!.Value, 5e-3, ByHand);
    }

    [Fact]
    public void Ground_that_hurts_at_once_hurts_when_it_is_reached()
    {
        var dose = ContactDose.Of([new(30, TimeSpan.FromMinutes(3)), new(70, TimeSpan.FromSeconds(1)), new(30, TimeSpan.FromMinutes(3))]);
        Assert.Equal((double.PositiveInfinity, TimeSpan.FromMinutes(3)), (dose.Fraction, dose.HurtAfter));
        Assert.Equal(0, ContactDose.Of([new(70, TimeSpan.Zero)]).Fraction);
        Assert.Equal(0, ContactDose.Of([]).Fraction);
    }

    [Theory]
    [InlineData(43.76, false)]
    [InlineData(43.78, true)]
    public void Ground_counts_from_what_hurts_within_six_hours(double celsius, bool counts) =>
        Assert.Equal(counts, ContactDose.Of([new(celsius, TimeSpan.FromHours(1))]).Fraction > 0);

    [Fact]
    public void Ground_that_is_not_known_makes_the_dose_unknown_and_never_smaller()
    {
        var known = new ContactStretch(48.292, TimeSpan.FromMinutes(4));
        var dose = ContactDose.Of([known, new(null, TimeSpan.FromMinutes(1))]);
        Assert.Equal((null, false, null), (dose.Fraction, dose.IsWhole, dose.HurtAfter));
        Published.Near(0.4, dose.KnownFraction, 5e-4, ByHand);
        Assert.Equal(0.4, ContactDose.Of([known, new(null, TimeSpan.Zero)]).Fraction!.Value, 0.01);

        // What is known hurts by itself, by then at the latest.
        var hurts = ContactDose.Of([new(null, TimeSpan.FromMinutes(5)), known, known, known]);
        Assert.False(hurts.IsWhole);
        Published.Near(15, hurts.HurtAfter!.Value.TotalMinutes, 0.02, ByHand);
        Published.Near(1.2, hurts.Fraction!.Value, 5e-3, ByHand);
    }

    [Fact]
    public void A_hotter_stretch_never_makes_the_dose_smaller_nor_the_hurt_later() =>
        Gen.Select(Gen.Double[20, 64], Gen.Double[0, 10], Gen.Double[0, 60], Gen.Double[20, 64]).Sample((celsius, more, minutes, other) =>
        {
            ContactStretch[] cooler = [new(other, TimeSpan.FromMinutes(3)), new(celsius, TimeSpan.FromMinutes(minutes))];
            ContactStretch[] hotter = [cooler[0], cooler[1] with { SurfaceCelsius = celsius + more }];
            var (less, greater) = (ContactDose.Of(cooler), ContactDose.Of(hotter));
            return greater.Fraction >= less.Fraction && (greater.HurtAfter ?? TimeSpan.MaxValue) <= (less.HurtAfter ?? TimeSpan.MaxValue);
        });

    [Fact]
    public void Ground_that_becomes_unknown_never_brings_a_lower_dose_or_a_comfort() =>
        Gen.Select(Gen.Double[20, 64], Gen.Double[0, 60]).Array[1, 6].Sample(route =>
        {
            ContactStretch[] known = [.. route.Select(s => new ContactStretch(s.Item1, TimeSpan.FromMinutes(s.Item2)))];
            var whole = ContactDose.Of(known);
            return Enumerable.Range(0, known.Length).Where(i => known[i].Time > TimeSpan.Zero).All(i =>
            {
                var part = ContactDose.Of(known.Select((s, j) => i == j ? s with { SurfaceCelsius = null } : s));
                // Never a number under 1, and hurt no later than it is.
                return part.Fraction is null or >= 1 && part.KnownFraction <= whole.KnownFraction + 1e-9
                    && (part.HurtAfter ?? TimeSpan.MaxValue) >= (whole.HurtAfter ?? TimeSpan.MaxValue) - TimeSpan.FromMilliseconds(1);
            });
        });

    [Fact]
    public void What_cannot_be_a_stretch_is_refused()
    {
        Assert.Throws<ArgumentOutOfRangeException>(() => ContactDose.Of([new(30, TimeSpan.FromSeconds(-1))]));
        Assert.Throws<ArgumentOutOfRangeException>(() => ContactDose.Of([new(double.NaN, TimeSpan.FromSeconds(1))]));
    }
}
