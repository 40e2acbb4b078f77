using PavementWatch.Core.Offsets;
using static PavementWatch.Core.Tests.Offsets.SimulatedSpot;

namespace PavementWatch.Core.Tests.Offsets;

/// <summary>What warnings of the time ahead add on the hottest hours. The simulated sky is what the air cannot tell: its truth is known.</summary>
public sealed class HotHourCorrectionTests
{
    private static readonly OffsetModel Model = new(new OffsetOptions());

    [Theory]
    [InlineData(29.9, 0)]
    [InlineData(30, 0)]
    [InlineData(31, 1)]
    [InlineData(32, 2)]
    [InlineData(60, 2)]
    public void It_grows_from_nothing_to_all_of_it_between_two_temperatures(double expectedCelsius, double leanKelvin) =>
        Assert.Equal(leanKelvin, new HotHourCorrection(30, 32, 2).At(expectedCelsius), 12);

    [Fact]
    public void The_first_week_does_not_lean()
    {
        var fit = Model.Fit(Plaza, Days(7, seed: 3), Start.AddDays(7));
        Assert.All(fit.Parts, p => Assert.Null(p.Lean));
    }

    [Fact]
    public void Where_clouds_are_guessed_warnings_meet_the_hottest_hours_on_average_and_the_number_shown_stays()
    {
        // The air is blind to this sky, and the days to come are like those learnt from.
        var days = Days(60, seed: 11);
        var fit = Model.Fit(Plaza, days, Start.AddDays(40));
        Assert.All(fit.Parts, p => Assert.InRange(p.Lean!.Kelvin, 0.3, 4));
        var blind = days.Select(d => d with { SurfaceCelsius = null }).ToList();
        var told = days.Where(d => d.At > Start.AddDays(40)).OrderByDescending(d => d.SurfaceCelsius).Take(96).ToList();
        var estimates = Model.Estimate(fit, Plaza, blind, [.. told.Select(t => t.At)]);
        var without = told.Zip(estimates).Average(p => p.Second.SurfaceCelsius - p.First.SurfaceCelsius!.Value);
        var warned = told.Zip(estimates).Average(p => p.Second.WarningCelsius - p.First.SurfaceCelsius!.Value);
        Assert.InRange(without, double.NegativeInfinity, -0.3);
        Assert.InRange(warned, 0.6 * without, 0.5);
        Assert.All(estimates, e => Assert.InRange(e.WarningCelsius, e.SurfaceCelsius, e.UpperCelsius));
        // Nothing but the lean is another without it.
        var plain = fit with { Parts = [.. fit.Parts.Select(p => p with { Lean = null })] };
        Assert.Equal(
            Model.Estimate(plain, Plaza, blind, [.. told.Select(t => t.At)]), estimates.Select(e => e with { LeanKelvin = 0 }));
    }

    [Fact]
    public void A_fit_from_before_ends_were_learnt_has_its_lean_in_the_upper_end()
    {
        var days = Days(41, seed: 11);
        var fit = Model.Fit(Plaza, days, Start.AddDays(40));
        var older = fit with { Parts = [.. fit.Parts.Select(p => p with { Ends = null, Record = null })] };
        var at = days.MaxBy(d => d.SurfaceCelsius).At;
        var estimate = Model.Estimate(older, Plaza, [.. days.Select(d => d with { SurfaceCelsius = null })], [at])[0];
        Assert.InRange(estimate.LeanKelvin, 0.1, 4);
        Assert.Equal(
            estimate.SurfaceCelsius - estimate.LowerCelsius + estimate.LeanKelvin, estimate.UpperCelsius - estimate.SurfaceCelsius, 9);
    }

    [Fact]
    public void A_reading_just_taken_leaves_nothing_to_lean_for()
    {
        var days = Days(41, seed: 11);
        var fit = Model.Fit(Plaza, days, Start.AddDays(40));
        var at = days.Where(d => d.At > Start.AddDays(40)).MaxBy(d => d.SurfaceCelsius).At;
        var dark = days.Select(d => d.At > Start.AddDays(40) ? d with { SurfaceCelsius = null } : d).ToList();
        var fresh = days.Where(d => d.At <= at).ToList();
        var blind = Model.Estimate(fit, Plaza, dark, [at])[0];
        Assert.InRange(Model.Estimate(fit, Plaza, fresh, [at])[0].LeanKelvin, 0, 0.5 * blind.LeanKelvin);
    }
}
