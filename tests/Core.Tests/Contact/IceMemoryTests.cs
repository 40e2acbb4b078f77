using System.Text.Json;
using CsCheck;
using PavementWatch.Core.Contact;

namespace PavementWatch.Core.Tests.Contact;

/// <summary>Ice that formed lies until it has thawed for hours, and doubt ends it never. Margin and spans: common practice, no source.</summary>
public sealed class IceMemoryTests
{
    private static readonly DateTimeOffset Midnight = new(2026, 1, 13, 6, 0, 0, TimeSpan.Zero);
    private static readonly TimeSpan LongestGap = TimeSpan.FromMinutes(20);

    private static readonly double[] Marks = [-12, -1, -0.1, 0, 0.04, 0.1, 1, 2.9, 3, 3.1, 8];

    // Of it "unseen" is a tick with nothing known.
    private static readonly Gen<(double Minutes, double Celsius, GroundEvidence Evidence, double? Humidity, bool Wet, bool Unseen)> Step = Gen.Select(
        Gen.Frequency((20, Gen.Double[1, 20]), (1, Gen.Double[20, 600])),
        Gen.OneOf(Gen.Int[0, Marks.Length - 1].Select(i => Marks[i]), Gen.Double[-6, 9]),
        Gen.Frequency((12, Gen.Const(GroundEvidence.Good)), (2, Gen.Const(GroundEvidence.Estimated)), (1, Gen.Const(GroundEvidence.Doubtful)), (1, Gen.Const(GroundEvidence.Expected))),
        Gen.OneOf(Gen.Const((double?)null), Gen.Double[20, 100].Select(h => (double?)h)),
        Gen.Frequency((9, Gen.Const(false)), (1, Gen.Const(true))),
        Gen.Frequency((19, Gen.Const(false)), (1, Gen.Const(true))));

    // Some nights swing, some are cold and then mild for long.
    private static readonly Gen<(DateTimeOffset At, GroundSight? Sight)[]> Nights = Gen.Select(Step.Array[1, 60], Gen.Double[0, 8], Step.Array[0, 120])
        .Select((cold, warmer, mild) =>
        {
            var at = Midnight;
            var night = new List<(DateTimeOffset, GroundSight?)>();
            foreach (var (step, kelvin) in cold.Select(s => (s, 0.0)).Concat(mild.Select(s => (s, warmer))))
            {
                at += TimeSpan.FromMinutes(step.Minutes);
                night.Add((at, step.Unseen ? null : new GroundSight(at, step.Celsius + kelvin, step.Evidence) { AirCelsius = 2, HumidityPercent = step.Humidity, Wet = step.Wet }));
            }

            return night.ToArray();
        });

    [Fact]
    public void It_ends_only_after_hours_of_ground_that_is_clearly_over_freezing_without_a_gap() => Nights.Sample(night =>
    {
        for (var (i, ice) = (0, new IceMemory()); i < night.Length; i++)
        {
            var before = ice;
            ice = After(ice, night[i]);
            if (!before.MayBeIcy || ice.MayBeIcy)
                continue;
            Assert.True(
                HasThawed(night[..(i + 1)], IceMemory.ThawsFor, e => e is GroundEvidence.Good or GroundEvidence.Expected)
                || HasThawed(night[..(i + 1)], IceMemory.EstimateThawsFor, e => e != GroundEvidence.Doubtful),
                $"ended at {night[i].At:O}");
        }
    });

    [Fact]
    public void Doubt_and_silence_end_it_never_and_hasten_no_thaw() => Nights.Sample(night =>
    {
        var (ice, without) = (new IceMemory(), new IceMemory());
        foreach (var moment in night)
        {
            var isDoubt = moment.Sight is null or { Evidence: GroundEvidence.Doubtful };
            var before = ice;
            ice = After(ice, moment);
            if (isDoubt)
                Assert.True(!before.MayBeIcy || ice.MayBeIcy);
            else
                without = After(without, moment);
            Assert.True(ice.MayBeIcy || !without.MayBeIcy, "what is in doubt has ended it");
        }
    });

    [Fact]
    public void Colder_ground_is_never_the_less_icy() => Gen.Select(Nights, Gen.Double[0, 5]).Sample((night, kelvin) =>
    {
        var (warm, cold) = (new IceMemory(), new IceMemory());
        foreach (var (at, sight) in night)
        {
            warm = After(warm, (at, sight));
            cold = After(cold, (at, sight is { } s ? s with { SurfaceCelsius = s.SurfaceCelsius - kelvin } : null));
            Assert.True(cold.MayBeIcy || !warm.MayBeIcy, $"at {at:O}");
        }
    });

    [Fact]
    public void It_survives_a_restart_and_follows_a_clock_that_is_set_back() => Gen.Select(Nights, Gen.Int[0, 200], Gen.Int[1, 600]).Sample((night, until, minutes) =>
    {
        var by = TimeSpan.FromMinutes(minutes);
        var (ice, set) = (new IceMemory(), new IceMemory());
        for (var i = 0; i < night.Length; i++)
        {
            if (i == until)
                (ice, set) = (JsonSerializer.Deserialize<IceMemory>(JsonSerializer.Serialize(ice))!, set.Earlier(by));
            ice = After(ice, night[i]);
            var (at, sight) = night[i];
            set = After(set, i < until ? night[i] : (at - by, sight is { } s ? s with { At = at - by } : null));
        }

        Assert.Equal(until < night.Length ? ice.Earlier(by) : ice, set);
    });

    [Fact]
    public void Frozen_ground_of_which_nobody_knows_how_wet_it_is_may_be_icy_after_an_hour()
    {
        var ice = Hours(new(), 0, 0.98, -5, humidity: 40);
        Assert.False(ice.MayBeIcy);
        Assert.Equal(At(1), Hours(ice, 1, 3, -5, humidity: 40).IcySince);
        // Nor does a gap thaw it.
        Assert.Equal(At(1), ice.Unseen(At(1)).IcySince);
    }

    [Fact]
    public void Ground_that_was_under_dew_is_icy_as_soon_as_it_freezes_also_in_dry_air()
    {
        // Air of 2 °C and 100 % has its dew point at 2 °C.
        var ice = Hours(new(), 0, 0.5, 1, humidity: 100);
        Assert.False(ice.MayBeIcy);
        Assert.True(Hours(ice, 11, 11, -0.1, humidity: 40).MayBeIcy);
        Assert.False(Hours(ice, 13, 13, -0.1, humidity: 40).MayBeIcy);
    }

    [Fact]
    public void The_nights_ice_lies_on_when_the_dew_point_no_longer_lies_over_it_and_until_three_hours_of_thaw()
    {
        var ice = Hours(new(), 5, 6, -2, humidity: 100);
        ice = Hours(ice, 6, 9, -1, humidity: 30);
        Assert.True(ice.MayBeIcy);
        ice = Hours(ice, 9, 10, 2.9, humidity: 30);
        Assert.True(Hours(ice, 10.1, 40, 2.9, humidity: 30).MayBeIcy);
        ice = Hours(ice, 10.1, 13, 3, humidity: 30);
        Assert.True(ice.MayBeIcy);
        ice = Hours(ice, 13.1, 13.1, 3, humidity: 30);
        Assert.False(ice.MayBeIcy);
        // What was ice is water.
        Assert.True(Hours(Hours(ice, 13.2, 18, 1, humidity: 30), 18.1, 18.1, 0, humidity: 30).MayBeIcy);
    }

    [Fact]
    public void A_gap_or_a_colder_reading_begins_the_thaw_anew()
    {
        var ice = Hours(new(), 5, 6, -2, humidity: 100);
        Assert.True(Hours(Hours(ice, 6.1, 8.9, 5, humidity: 30), 9.5, 12.4, 5, humidity: 30).MayBeIcy);
        Assert.False(Hours(Hours(ice, 6.1, 8.9, 5, humidity: 30), 9.5, 12.6, 5, humidity: 30).MayBeIcy);
        ice = Hours(Hours(ice, 6.1, 8.9, 5, humidity: 30), 9, 9, 2, humidity: 30);
        Assert.True(Hours(ice, 9.1, 12, 5, humidity: 30).MayBeIcy);
    }

    [Fact]
    public void Where_nothing_is_measured_a_day_of_estimates_has_to_say_that_it_thaws_and_what_is_expected_thaws_as_readings_do()
    {
        var ice = Hours(new(), 5, 6.1, -2, GroundEvidence.Estimated);
        Assert.Equal(At(6), ice.IcySince);
        Assert.True(Hours(ice, 6.2, 30.1, 4, GroundEvidence.Estimated).MayBeIcy);
        Assert.False(Hours(ice, 6.2, 30.3, 4, GroundEvidence.Estimated).MayBeIcy);
        Assert.False(Hours(ice, 6.2, 9.3, 4, GroundEvidence.Expected).MayBeIcy);
    }

    [Fact]
    public void Of_what_comes_late_only_frost_counts_that_has_not_thawed_since()
    {
        var late = new GroundSight(At(5), -3, GroundEvidence.Good) { AirCelsius = 2, HumidityPercent = 30 };
        var wet = Hours(new(), 8, 9, 2, humidity: 30);
        Assert.Equal(At(5), wet.After(late, LongestGap).IcySince);
        Assert.False(wet.After(late with { SurfaceCelsius = 1 }, LongestGap).MayBeIcy);
        Assert.False(Hours(wet, 9.1, 12.2, 4, humidity: 30).After(late, LongestGap).MayBeIcy);
        Assert.False(Hours(Hours(wet, 9.1, 12.2, 4, humidity: 30), 12.3, 14, 2, humidity: 30).After(late, LongestGap).MayBeIcy);
        Assert.False(wet.After(late with { At = At(9 - 49) }, LongestGap).MayBeIcy);
    }

    private static DateTimeOffset At(double hour) => Midnight.AddMinutes(Math.Round(hour * 60));

    private static IceMemory Hours(IceMemory ice, double from, double to, double celsius, GroundEvidence evidence = GroundEvidence.Good, double? humidity = null)
    {
        for (var at = At(from); at <= At(to); at = at.AddMinutes(1))
            ice = ice.After(new GroundSight(at, celsius, evidence) { AirCelsius = humidity is null ? null : 2, HumidityPercent = humidity }, LongestGap);
        return ice;
    }

    private static IceMemory After(IceMemory ice, (DateTimeOffset At, GroundSight? Sight) moment) =>
        moment.Sight is { } sight ? ice.After(sight, LongestGap) : ice.Unseen(moment.At);

    /// <summary>Whether all of the last hours say so: what counts is over the margin, and follows each other.</summary>
    private static bool HasThawed((DateTimeOffset At, GroundSight? Sight)[] night, TimeSpan span, Func<GroundEvidence, bool> counts)
    {
        var newest = night[^1].At;
        var last = newest;
        foreach (var (at, sight) in night.Reverse())
        {
            if (sight is null || (!counts(sight.Value.Evidence) && sight.Value.SurfaceCelsius >= IceMemory.ThawedFromCelsius))
                continue;
            if (sight.Value.SurfaceCelsius < IceMemory.ThawedFromCelsius || last - at > LongestGap)
                return false;
            if (newest - at >= span)
                return true;
            last = at;
        }

        return false;
    }
}
