using PavementWatch.Core.Offsets;
using PavementWatch.Core.Weather;

namespace PavementWatch.Core.Tests.Offsets;

/// <summary>When wind and sun are looked at. By definition: a fit looks at nothing that it has not learnt from.</summary>
public class InputsAtHandTests
{
    private const OffsetInputs Both = OffsetInputs.Wind | OffsetInputs.Solar;

    [Fact]
    public void Wind_and_sun_that_a_fit_has_not_learnt_from_change_no_estimate_of_it()
    {
        var days = SimulatedSpot.Days(12, seed: 3);
        var fit = Fit(days);
        List<WeatherSample> windy = [.. days.Select(s => s with { WindMetersPerSecond = 6, SolarWattsPerSquareMeter = 80 })];

        Assert.Same(windy, new InputsAtHand(fit, windy).With(OffsetInputs.AirOnly));
        Assert.Equal(At(fit, days), At(fit, windy));
    }

    [Fact]
    public void What_a_fit_has_learnt_from_is_taken_out_where_it_may_not_be_used()
    {
        List<WeatherSample> days = [.. SimulatedSpot.Days(12, seed: 3).Select((s, i) => s with { WindMetersPerSecond = 1 + (i % 5) })];
        var fit = Fit(days);

        Assert.Same(days, new InputsAtHand(fit, days).With(OffsetInputs.Wind));
        Assert.All(new InputsAtHand(fit, days).With(OffsetInputs.AirOnly), s => Assert.Null(s.WindMetersPerSecond));
        // The wind ended half a day ago: it is not there for nine tenths of the two days before.
        var calm = days[^1].At.AddHours(-12);
        List<WeatherSample> ended = [.. days.Select(s => s.At > calm ? s with { WindMetersPerSecond = null } : s)];
        Assert.Equal(OffsetInputs.AirOnly, new InputsAtHand(fit, ended).At(days[^1].At) & Both);
        Assert.Equal(
            At(fit, [.. days.Select(s => s with { WindMetersPerSecond = null })]),
            At(fit, ended));
    }

    private static OffsetFit Fit(List<WeatherSample> days) => new OffsetModel(new OffsetOptions()).Fit(SimulatedSpot.Plaza, days, days[^1].At);

    private static SurfaceEstimate At(OffsetFit fit, List<WeatherSample> weather)
    {
        var last = weather[^1].At;
        return SpotEstimation.At(fit, SimulatedSpot.Plaza, SpotWeather.Past(weather), [last])[0].Value;
    }
}
