using PavementWatch.Core.Offsets;
using static PavementWatch.Core.Tests.Offsets.SimulatedSpot;

namespace PavementWatch.Core.Tests.Offsets;

/// <summary>A fit's life: taking over, waiting, and the spot that is no longer what it was.</summary>
public sealed class FitLifeTests
{
    private static readonly OffsetModel Model = new(new OffsetOptions());

    [Fact]
    public void The_first_fit_takes_over_and_one_without_readings_never_replaces_one_with()
    {
        var now = Start.AddDays(10);
        var days = Days(10, seed: 1);
        var fitted = Model.Fit(Plaza, days, now);
        Assert.True(FitReview.Judge(fitted, null, Plaza, days, now).Accepted);
        var empty = FitReview.Judge(Model.Prior(Plaza, now), fitted, Plaza, days, now);
        Assert.False(empty.Accepted);
        Assert.Equal(FitReason.NoReadings, empty.Because);
    }

    [Fact]
    public void A_fit_on_readings_takes_over_from_the_handbook()
    {
        var now = Start.AddDays(14);
        var days = Days(14, seed: 2);
        var judgement = FitReview.Judge(Model.Fit(Plaza, days, now), Model.Prior(Plaza, Start), Plaza, days, now);
        Assert.True(judgement.Accepted, $"{judgement}");
        Assert.True(judgement.CandidateKelvin < judgement.InUseKelvin);
        Assert.Equal(FitReason.NoWorse, judgement.Because);
    }

    [Fact]
    public void A_fit_that_learnt_a_van_over_the_spot_waits_when_the_van_has_gone()
    {
        // Fourteen good days, six days of a roof at the air's temperature, three good days.
        var days = Days(23, seed: 3, measured: (day, air, surface) => day is >= 14 and < 20 ? air : surface);
        var good = Model.Fit(Plaza, days, Start.AddDays(14));
        var spoiled = Model.Fit(Plaza, days, Start.AddDays(23));
        var judgement = FitReview.Judge(spoiled, good, Plaza, days, Start.AddDays(23));
        Assert.False(judgement.Accepted, $"{judgement}");
        Assert.Equal(FitReason.Worse, judgement.Because);
    }

    [Fact]
    public void One_bad_day_moves_the_next_days_estimates_by_less_than_a_kelvin_and_a_half()
    {
        var now = Start.AddDays(22);
        var clean = Model.Fit(Plaza, Days(22, seed: 4), now);
        var spoiled = Model.Fit(Plaza, Days(22, seed: 4, measured: (day, air, surface) => day == 21 ? air - 3 : surface), now);
        var next = Days(23, seed: 4).Where(d => d.At > now.AddDays(-3)).Select(d => d with { SurfaceCelsius = null }).ToList();
        foreach (var at in next.Where(d => d.At > now).Select(d => d.At))
        {
            var moved = Model.Estimate(spoiled, Plaza, next, [at])[0].SurfaceCelsius - Model.Estimate(clean, Plaza, next, [at])[0].SurfaceCelsius;
            // The bad day itself was up to 27 K wrong.
            Assert.InRange(moved, -1.5, 1.5);
        }
    }

    [Theory]
    [InlineData(DriftKind.None)]
    [InlineData(DriftKind.TakesMoreSun)]
    [InlineData(DriftKind.TakesLessSun)]
    [InlineData(DriftKind.SensorDulled)]
    [InlineData(DriftKind.SensorShifted)]
    public void A_spot_that_changed_is_noticed_and_what_changed_is_named(DriftKind kind)
    {
        var days = Days(25, seed: 5, measured: (day, air, surface) => day < 20 ? surface : kind switch
        {
            DriftKind.TakesMoreSun => surface + 0.3 * Math.Max(0, surface - air),
            DriftKind.TakesLessSun => surface - 0.3 * Math.Max(0, surface - air),
            DriftKind.SensorDulled => air + 0.5 * (surface - air),
            DriftKind.SensorShifted => surface + 3.5,
            _ => surface,
        });
        var finding = SpotDrift.Look(Model.Fit(Plaza, days, Start.AddDays(20)), Plaza, days, Start.AddDays(25));
        Assert.True(kind == finding.Kind, $"expected {kind}, found {finding}");
    }

    [Fact]
    public void One_bad_day_is_no_drift()
    {
        var days = Days(25, seed: 6, measured: (day, air, surface) => day == 23 ? air : surface);
        var finding = SpotDrift.Look(Model.Fit(Plaza, days, Start.AddDays(20)), Plaza, days, Start.AddDays(25));
        Assert.Equal(DriftKind.None, finding.Kind);
    }

    [Fact]
    public void Two_days_are_too_few_to_tell()
    {
        var days = Days(22, seed: 7, measured: (day, air, surface) => day < 20 ? surface : surface + 10);
        var gaps = days.Select(d => d.At > Start.AddDays(17) && d.At <= Start.AddDays(20) ? d with { SurfaceCelsius = null } : d).ToList();
        Assert.Equal(DriftKind.Unknown, SpotDrift.Look(Model.Fit(Plaza, gaps, Start.AddDays(17)), Plaza, gaps, Start.AddDays(22)).Kind);
    }
}
