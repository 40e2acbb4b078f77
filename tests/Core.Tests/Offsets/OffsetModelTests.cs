using System.Text.Json;
using PavementWatch.Core.Offsets;
using PavementWatch.Tests;
using static PavementWatch.Core.Tests.Offsets.SimulatedSpot;

namespace PavementWatch.Core.Tests.Offsets;

public sealed class OffsetModelTests
{
    [Fact]
    public void A_fit_written_as_JSON_and_read_back_is_the_same()
    {
        var fit = new OffsetModel(new OffsetOptions()).Fit(Plaza, Days(8), Start.AddDays(8));
        var json = JsonSerializer.Serialize(fit);
        var back = JsonSerializer.Deserialize<OffsetFit>(json)!;
        Assert.Equal(json, JsonSerializer.Serialize(back));
        Assert.Equal(Plaza.Id, back.Spot);
        Assert.Equal(fit.Parts[0].Coefficients, back.Parts[0].Coefficients);
        var at = Start.AddDays(8.5);
        var model = new OffsetModel(new OffsetOptions());
        Assert.Equal(
            model.Estimate(fit, Plaza, Days(8), [at]), model.Estimate(back, Plaza, Days(8), [at]));
    }

    [Fact]
    public void A_spot_that_follows_the_sun_is_learnt_in_a_week_and_told_a_day_ahead()
    {
        var model = new OffsetModel(new OffsetOptions());
        var days = Days(9);
        var known = days.Where(d => d.At <= Start.AddDays(8)).ToList();
        var fit = model.Fit(Plaza, known, Start.AddDays(8));
        Assert.Equal(8 * 48, fit.SampleCount);
        var inside = 0;
        // The simulated air repeats itself each day, so the forecast by persistence is right and the truth is known.
        foreach (var truth in days.Where(d => d.At > Start.AddDays(8)))
        {
            var estimate = model.Estimate(fit, Plaza, known, [truth.At])[0];
            Published.Near(truth.SurfaceCelsius!.Value, estimate.SurfaceCelsius, 0.6, "the simulation's own truth");
            if (truth.SurfaceCelsius >= estimate.LowerCelsius && truth.SurfaceCelsius <= estimate.UpperCelsius)
                inside++;
        }

        Assert.InRange(inside, 40, 48);
    }

    [Fact]
    public void What_is_later_than_the_fit_does_not_change_it()
    {
        var model = new OffsetModel(new OffsetOptions());
        var now = Start.AddDays(6);
        var days = Days(8);
        var cut = model.Fit(Plaza, [.. days.Where(d => d.At <= now)], now);
        Assert.Equal(JsonSerializer.Serialize(cut), JsonSerializer.Serialize(model.Fit(Plaza, days, now)));
    }

    [Fact]
    public void An_estimate_does_not_look_at_later_weather()
    {
        var model = new OffsetModel(new OffsetOptions());
        var days = Days(8);
        var fit = model.Fit(Plaza, days, Start.AddDays(8));
        var at = Start.AddDays(7.5);
        var cut = model.Estimate(fit, Plaza, [.. days.Where(d => d.At <= at)], [at]);
        Assert.Equal(cut, model.Estimate(fit, Plaza, days, [at]));
    }

    [Fact]
    public void A_fit_without_readings_is_the_prior_and_says_so()
    {
        var fit = new OffsetModel(new OffsetOptions()).Prior(Plaza, Start);
        Assert.Equal(0, fit.SampleCount);
        Assert.Null(fit.IntervalCoveragePercent);
        Assert.Equal("north-gate-plaza-20300701T060000Z", fit.Id);
    }

    [Fact]
    public void Without_any_air_there_is_no_number_that_could_look_cool()
    {
        var model = new OffsetModel(new OffsetOptions());
        var estimate = model.Estimate(model.Prior(Plaza, Start), Plaza, [], [Start])[0];
        Assert.Equal(double.NaN, estimate.SurfaceCelsius);
        Assert.Equal(double.NaN, estimate.UpperCelsius);
    }
}
