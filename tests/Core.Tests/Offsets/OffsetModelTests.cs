using System.Text.Json;
using CsCheck;
using PavementWatch.Core.Offsets;
using PavementWatch.Core.Surfaces;
using PavementWatch.Core.Weather;
using PavementWatch.Tests;
using static PavementWatch.Core.Tests.Offsets.SimulatedSpot;

namespace PavementWatch.Core.Tests.Offsets;

public sealed class OffsetModelTests
{
    private static readonly Lazy<(OffsetFit Fit, List<WeatherSample> Days)> Learnt = new(() =>
    {
        var days = Days(21, seed: 10);
        return (new OffsetModel(new OffsetOptions()).Fit(Plaza, days, Start.AddDays(20)), days);
    });

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

    [Fact]
    public void A_few_days_of_weather_suffice_to_go_on_where_the_fit_left_off()
    {
        var model = new OffsetModel(new OffsetOptions());
        var days = Days(30, seed: 8);
        var fit = model.Fit(Plaza, days, Start.AddDays(28));
        var at = days.Where(d => d.At > Start.AddDays(29)).Select(d => d.At).ToList();
        var whole = model.Estimate(fit, Plaza, days, at);
        var few = model.Estimate(fit, Plaza, [.. days.Where(d => d.At > Start.AddDays(27))], at);
        foreach (var (a, b) in whole.Zip(few))
            Published.Near(a.SurfaceCelsius, b.SurfaceCelsius, 0.1, "the same fit on all the weather");
    }

    [Fact]
    public void An_older_reading_says_less_and_the_interval_grows_with_its_age()
    {
        var model = new OffsetModel(new OffsetOptions());
        var days = Days(21, seed: 9);
        var fit = model.Fit(Plaza, days, Start.AddDays(20));
        var noon = Start.AddDays(20.5);
        var estimator = new OffsetEstimator(fit, Plaza, days, noon);
        var widths = OffsetModel.NowcastAges.Where(a => a <= 6)
            .Select(age => estimator.At(noon, noon.AddHours(-age))).Select(e => e.UpperCelsius - e.LowerCelsius).ToList();
        Assert.Equal(widths.Order(), widths);
        Assert.True(widths[0] < 0.9 * widths[^1], $"{widths[0]:F2} K after half an hour, {widths[^1]:F2} K after six");
    }

    [Fact]
    public void A_dark_spot_borrows_a_neighbours_heat_and_never_its_coolness()
    {
        var model = new OffsetModel(new OffsetOptions());
        var days = Days(21, seed: 10);
        var fit = model.Fit(Plaza, days, Start.AddDays(20));
        var noon = Start.AddDays(20.5);
        var dark = days.Where(d => d.At <= noon).Select(d => d with { SurfaceCelsius = null }).ToList();
        // 6 K hotter or cooler than its fit expects.
        NeighbourResidual Off(double kelvin) => new OffsetEstimator(
            fit, Plaza, [.. days.Where(d => d.At <= noon).Select(d => d.At > noon.AddHours(-3) ? d with { SurfaceCelsius = d.SurfaceCelsius + kelvin } : d)], noon).StateAt(noon)!.Value;
        var (hot, shaded) = (Off(6), Off(-6));
        Assert.InRange(hot.Sigmas, 0.5, 4);
        Assert.InRange(shaded.Sigmas, -4, -0.5);

        var alone = model.Estimate(fit, Plaza, dark, [noon])[0];
        Assert.Equal(alone, model.Estimate(fit, Plaza, dark, [noon], [shaded])[0]);
        var warmed = model.Estimate(fit, Plaza, dark, [noon], [hot])[0];
        Assert.True(warmed.SurfaceCelsius > alone.SurfaceCelsius + 0.3, $"{alone} became {warmed}");
        Assert.True(warmed.UpperCelsius > alone.UpperCelsius + 0.3, $"{alone} became {warmed}");
        // One in the shade takes nothing of the heat of one in the sun.
        Assert.True(model.Estimate(fit, Plaza, dark, [noon], [hot, shaded])[0].UpperCelsius > alone.UpperCelsius);
        // A spot that sees for itself does not ask.
        var seeing = days.Where(d => d.At <= noon).ToList();
        Assert.Equal(model.Estimate(fit, Plaza, seeing, [noon]), model.Estimate(fit, Plaza, seeing, [noon], [hot]));
    }

    [Fact]
    public void Whatever_neighbours_lend_a_dark_spot_is_estimated_no_cooler() =>
        Gen.Select(Gen.Double[-4, 4].Array[1, 3], Gen.Double[0, 12], Gen.Double[1, 30], Gen.Double[0, 23.5]).Sample((sigmas, lentHours, darkHours, hour) =>
        {
            var (fit, days) = Learnt.Value;
            var now = Start.AddDays(20).AddHours(hour);
            var known = days.Where(d => d.At <= now).Select(d => d.At > now.AddHours(-darkHours) ? d with { SurfaceCelsius = null } : d).ToList();
            IReadOnlyList<NeighbourResidual> lent = [.. sigmas.Select((s, i) => new NeighbourResidual(i == 0 ? SurfaceKind.Asphalt : SurfaceKind.Grass, now.AddHours(-lentHours), s))];
            var (alone, together) = (new OffsetEstimator(fit, Plaza, known, now).At(now), new OffsetEstimator(fit, Plaza, known, now, lent).At(now));
            return together.SurfaceCelsius >= alone.SurfaceCelsius && together.UpperCelsius >= alone.UpperCelsius - 1e-9 && together.LowerCelsius >= alone.LowerCelsius - 1e-9;
        }, iter: 200);

    [Fact]
    public void An_estimate_says_why_it_may_be_further_off()
    {
        var model = new OffsetModel(new OffsetOptions());
        var days = Days(10, seed: 11);
        var now = Start.AddDays(10);
        var fit = model.Fit(Plaza, days, now);
        EstimateDoubt Doubt(OffsetFit with, Func<WeatherSample, WeatherSample> change, double hours = 0) =>
            model.Estimate(with, Plaza, [.. days.Select(d => d.At > now.AddHours(-2) ? change(d) : d)], [now.AddHours(hours)])[0].Doubt;

        Assert.Equal(EstimateDoubt.None, Doubt(fit, d => d));
        Assert.Equal(EstimateDoubt.HandbookOnly, Doubt(model.Prior(Plaza, now), d => d));
        Assert.Equal(EstimateDoubt.MaybeWet, Doubt(fit, d => d with { HumidityPercent = 99 }));
        Assert.Equal(EstimateDoubt.HotterThanSeen, Doubt(fit, d => d with { AirCelsius = 48 }));
        Assert.Equal(EstimateDoubt.ColderThanSeen, Doubt(fit, d => d with { AirCelsius = 2, HumidityPercent = 50 }));
        Assert.Equal(EstimateDoubt.AirGuessed, Doubt(fit, d => d, hours: 5));
    }

    [Fact]
    public void A_fit_of_another_edition_estimates_from_the_handbook_and_says_so()
    {
        var model = new OffsetModel(new OffsetOptions());
        var days = Days(10, seed: 12);
        var now = Start.AddDays(10);
        var old = model.Fit(Plaza, days, now) with { Edition = 1 };
        var dark = days.Select(d => d with { SurfaceCelsius = null }).ToList();
        Assert.Equal(
            model.Estimate(model.Prior(Plaza, now), Plaza, dark, [now]), model.Estimate(old, Plaza, dark, [now]));
    }
}
