using PavementWatch.Core.Readings;
using PavementWatch.Core.Weather;
using PavementWatch.Server.Tests.Api;
using PavementWatch.Server.Weather;

namespace PavementWatch.Server.Tests.Weather;

/// <summary>The last days of a spot in memory, by a clock that somebody sets.</summary>
public sealed class WeatherRingTests
{
    private static readonly DateTimeOffset Noon = RunningServer.Noon;

    [Theory]
    [InlineData(2)]
    [InlineData(24 * 30)]
    public void What_was_measured_before_the_clock_was_set_back_keeps_its_age_and_the_next_is_taken(int hours)
    {
        var (ring, ahead) = (new WeatherRing(), TimeSpan.FromHours(hours));
        for (var minutes = -50; minutes <= 0; minutes += 10)
            ring.Add(Reading(Noon.AddMinutes(minutes) + ahead, 40));

        ring.ClockWasSetBack(ahead, Noon);
        Assert.Equal(
            Enumerable.Range(-5, 6).Select(step => (Noon.AddMinutes(10 * step), (double?)40)),
            Samples(ring, Noon).Select(s => (s.At, s.SurfaceCelsius)));

        // In the slot that the clock ahead had filled for later.
        ring.Add(Reading(Noon + TimeSpan.FromHours(2), 50));
        Assert.Equal(50, Samples(ring, Noon + TimeSpan.FromHours(2))[^1].SurfaceCelsius);
    }

    [Fact]
    public void What_has_its_own_time_stays_where_a_glitch_of_the_clock_is_taken_back()
    {
        var ring = new WeatherRing();
        ring.Add(Reading(Noon, 40));
        ring.Add(Reading(Noon.AddHours(2), 60));

        ring.ClockWasSetBack(TimeSpan.FromHours(2), Noon);

        Assert.Equal([(Noon, (double?)40)], Samples(ring, Noon).Select(s => (s.At, s.SurfaceCelsius)));
    }

    [Fact]
    public void What_is_doubted_of_a_surface_is_none_and_the_air_beside_it_is_kept()
    {
        var ring = new WeatherRing();
        ring.Add(Reading(Noon, 40) with { Quality = ReadingQuality.Suspect, Doubt = Doubt.Disagrees });
        ring.Add(Reading(Noon.AddMinutes(10), 40) with { Quality = ReadingQuality.Suspect, Doubt = Doubt.Clock });

        Assert.Equal([(Noon, (double?)null, 35.0)], Samples(ring, Noon.AddMinutes(10)).Select(s => (s.At, s.SurfaceCelsius, s.AirCelsius)));
    }

    private static List<WeatherSample> Samples(WeatherRing ring, DateTimeOffset now)
    {
        var samples = new List<WeatherSample>();
        ring.AddTo(samples, now, lent: null, place: null);
        return samples;
    }

    private static Reading Reading(DateTimeOffset at, double surfaceCelsius) => RunningServer.Good(RunningServer.NorthGate, at, surfaceCelsius);
}
