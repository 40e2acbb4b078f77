using System.Collections;
using PavementWatch.Core.Alerts;
using PavementWatch.Core.Readings;
using PavementWatch.Core.Weather;
using PavementWatch.Server.Ingest;
using PavementWatch.Server.Watch;
using PavementWatch.Server.Weather;
using static PavementWatch.Server.Tests.Api.RunningServer;

namespace PavementWatch.Server.Tests.Watch;

/// <summary>What the spots of a site lend each other: only where it is lacking.</summary>
public sealed class SiteNowTests
{
    [Fact]
    public void A_spot_with_air_of_its_own_asks_no_neighbour()
    {
        using var own = Watched("own", 0, 432, 30);
        var site = new SiteNow(new NotToBeAsked(own), PlaceWeather.None, null!, Noon);

        var weather = site.WeatherOf(own, TimeSpan.Zero, []);

        Assert.Equal(432, weather.Samples.Count);
        Assert.Empty(site.StatesFor(own, weather));
    }

    [Fact]
    public void A_spot_that_lacks_air_is_lent_the_mean_of_its_neighbours_in_the_steps_it_lacks()
    {
        // A day and a half of its own, none of the last half day.
        using var own = Watched("own", 72, 216, 30);
        using var warm = Watched("warm", 0, 432, 34);
        using var cool = Watched("cool", 0, 432, 20);
        var site = new SiteNow([own, warm, cool], PlaceWeather.None, null!, Noon);

        var samples = site.WeatherOf(own, TimeSpan.Zero, []).Samples;

        // By definition: the mean of 34 and 20 is 27.
        Assert.Equal(Enumerable.Range(0, 432).Select(back => back is >= 72 and < 288 ? 30.0 : 27.0).Reverse(), samples.Select(s => s.AirCelsius));
        Assert.Equal(samples.Select(s => s.At).Order(), samples.Select(s => s.At));
        Assert.Equal(Noon, samples[^1].At);
    }

    [Fact]
    public void The_step_under_way_ends_with_the_newest_reading_of_the_site()
    {
        using var own = Watched("own", 432, 0, 30);
        using var other = Watched("other", 0, 432, 34);
        var newest = Good(NorthGate with { Id = SpotId.Parse("other") }, Noon.AddMinutes(3), 40, 36);
        other.Hear(new HeardReading(newest, newest.MeasuredAt), Noon.AddMinutes(4), TimeSpan.Zero);
        var site = new SiteNow([own, other], PlaceWeather.None, null!, Noon.AddMinutes(4));

        var last = site.WeatherOf(own, TimeSpan.Zero, []).Samples[^1];

        Assert.Equal((Noon.AddMinutes(3), 36), (last.At, last.AirCelsius));
    }

    [Fact]
    public void A_spot_with_air_and_without_humidity_keeps_its_air_and_is_lent_humidity()
    {
        using var own = Watched("own", 0, 432, 30, humidity: null);
        using var other = Watched("other", 0, 432, 34, humidity: 70);
        var site = new SiteNow([own, other], PlaceWeather.None, null!, Noon);

        Assert.All(site.WeatherOf(own, TimeSpan.Zero, []).Samples, s => Assert.Equal((30, 70), (s.AirCelsius, s.HumidityPercent)));
    }

    /// <summary>Spots with and without air, humidity and surface, dark ones and such that fall silent; stations and forecasts with gaps, or none.</summary>
    [Theory]
    [InlineData(1)]
    [InlineData(2)]
    [InlineData(3)]
    [InlineData(4)]
    [InlineData(5)]
    [InlineData(6)]
    [InlineData(7)]
    [InlineData(8)]
    [InlineData(9)]
    [InlineData(10)]
    public void The_weather_of_a_town_is_what_its_steps_and_what_is_lent_make_put_together_plainly(int seed)
    {
        var random = new Random(seed);
        var now = Noon + TimeSpan.FromSeconds(random.Next(0, 7) * 200);
        var town = PlainTown.Of(random, now);
        var watches = town.Spots.ConvertAll(spot =>
        {
            var watch = new SpotWatch(spot);
            watch.Begin(null, [], [], town.Readings[spot.Id], [], now, new AlertRule(), TimeSpan.Zero);
            return watch;
        });
        var site = new SiteNow(watches, town.Place, null!, now);

        foreach (var (watch, minutes) in watches.Zip([0, 35, 65, 35, 5, 185]))
        {
            var (made, plain) = (site.WeatherOf(watch, TimeSpan.FromMinutes(minutes), []), town.WeatherOf(watch.Spot, TimeSpan.FromMinutes(minutes)));

            Assert.NotEmpty(made.Samples);
            Assert.Equal(plain.Samples, made.Samples);
            Assert.Equal(plain.KnownUntil, made.KnownUntil);
            Assert.Equal(plain.Forecast, made.Forecast);
        }

        foreach (var watch in watches)
            watch.Dispose();
    }

    /// <summary>A watch with a reading in each of some steps.</summary>
    /// <param name="name">The spot's.</param>
    /// <param name="from">The newest step, counted back from noon.</param>
    /// <param name="count">How many steps.</param>
    /// <param name="air">[°C] In all of them.</param>
    /// <param name="humidity">[%] In all of them.</param>
    private static SpotWatch Watched(string name, int from, int count, double air, double? humidity = 50)
    {
        var spot = NorthGate with { Id = SpotId.Parse(name) };
        var watch = new SpotWatch(spot);
        watch.Begin(null, [], [], Enumerable.Range(0, count).Select(i => Good(spot, Noon - (from + i) * SpotWeather.Step, 40, air) with { HumidityPercent = humidity }).Reverse(), [], Noon, new AlertRule(), TimeSpan.Zero);
        return watch;
    }

    private sealed class NotToBeAsked(SpotWatch one) : IReadOnlyList<SpotWatch>
    {
        public int Count => 2;

        public SpotWatch this[int index] => one;

        public IEnumerator<SpotWatch> GetEnumerator() => throw new InvalidOperationException("a neighbour was asked");

        IEnumerator IEnumerable.GetEnumerator() => GetEnumerator();
    }
}
