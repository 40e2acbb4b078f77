using PavementWatch.Core.Offsets;
using PavementWatch.Core.Weather;
using static PavementWatch.Core.Tests.Offsets.SimulatedSpot;

namespace PavementWatch.Core.Tests.Offsets;

/// <summary>A sensor that the sun warms is in doubt in just the hottest hours; a fit that left them out would know nothing of these.</summary>
public sealed class DoubtedTrainingTests
{
    private static readonly OffsetModel Model = new(new OffsetOptions());

    [Fact]
    public void Hours_in_which_the_sensor_was_warm_are_learnt_from()
    {
        // The spot is 8 K hotter from eleven to four than sun and air say: a wall of glass opposite.
        var days = Days(12, seed: 4).Select(d => IsHot(d.At) ? d with { SurfaceCelsius = d.SurfaceCelsius + 8 } : d).ToList();
        var now = Start.AddDays(11);
        var noon = Start.AddDays(11.55);
        var truth = days.Single(d => d.At == At(noon)).SurfaceCelsius!.Value;
        double Error(List<WeatherSample> history) =>
            Model.Estimate(Model.Fit(Plaza, history, now), Plaza, [.. days.Where(d => d.At <= At(noon)).Select(d => d with { SurfaceCelsius = null })], [At(noon)])[0].SurfaceCelsius - truth;

        var (all, doubted, without) = (Error(days), Error(Doubted(days)), Error([.. Doubted(days).Select(d => d with { DoubtedSurfaceCelsius = null })]));

        Assert.True(without < -4, $"without those hours it is off by {without:F1} K");
        Assert.True(doubted > -2.5, $"with them in doubt it is off by {doubted:F1} K, in trust by {all:F1} K");
        Assert.Equal(Model.Fit(Plaza, days, now).SampleCount, Model.Fit(Plaza, Doubted(days), now).SampleCount);
    }

    [Fact]
    public void One_in_doubt_counts_less_than_a_good_one()
    {
        // Where both speak of the same hours of other days, the good ones decide.
        List<WeatherSample> Mixed(double goodKelvin, double doubtedKelvin) => [.. Days(12, seed: 4).Select((d, i) => !IsHot(d.At) ? d
            : (i / 48) % 2 == 0 ? d with { SurfaceCelsius = d.SurfaceCelsius + goodKelvin }
            : d with { SurfaceCelsius = null, DoubtedSurfaceCelsius = d.SurfaceCelsius + doubtedKelvin })];
        var (now, at) = (Start.AddDays(11), At(Start.AddDays(11.55)));
        double Estimate(double good, double doubted) => Model.Estimate(
            Model.Fit(Plaza, Mixed(good, doubted), now), Plaza, [.. Days(12, seed: 4).Where(d => d.At <= at).Select(d => d with { SurfaceCelsius = null })], [at])[0].SurfaceCelsius;

        var (neither, byGood, byDoubted) = (Estimate(0, 0), Estimate(2, 0), Estimate(0, 2));

        Assert.True(byDoubted - neither > 0.05, $"{byDoubted - neither:F2} K by those in doubt");
        Assert.True(byGood - neither > 2 * (byDoubted - neither), $"{byGood - neither:F2} K by good ones, {byDoubted - neither:F2} K by those in doubt");
    }

    [Fact]
    public void An_estimate_does_not_look_at_what_is_in_doubt()
    {
        var days = Days(12, seed: 4);
        var fit = Model.Fit(Plaza, days, Start.AddDays(11));
        var at = At(Start.AddDays(11.55));
        var dark = days.Where(d => d.At <= at).Select(d => d.At > Start.AddDays(11) ? d with { SurfaceCelsius = null } : d).ToList();
        Assert.Equal(
            Model.Estimate(fit, Plaza, dark, [at]),
            Model.Estimate(fit, Plaza, [.. dark.Select(d => d.SurfaceCelsius is null ? d with { DoubtedSurfaceCelsius = 20 } : d)], [at]));
    }

    private static List<WeatherSample> Doubted(List<WeatherSample> days) =>
        [.. days.Select(d => IsHot(d.At) ? d with { SurfaceCelsius = null, DoubtedSurfaceCelsius = d.SurfaceCelsius } : d)];

    // Local hours; the days begin at local midnight.
    private static bool IsHot(DateTimeOffset at) => (at - Start).TotalHours % 24 is >= 11 and <= 16;

    // Samples stand half an hour apart.
    private static DateTimeOffset At(DateTimeOffset moment) => new(moment.UtcTicks - (moment.UtcTicks % TimeSpan.FromMinutes(30).Ticks), TimeSpan.Zero);
}
