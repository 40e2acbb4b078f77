using CsCheck;
using PavementWatch.Core.Offsets;
using PavementWatch.Core.Sun;
using PavementWatch.Core.Weather;
using static PavementWatch.Core.Tests.Offsets.SimulatedSpot;

namespace PavementWatch.Core.Tests.Offsets;

/// <summary>Weather that no reading of a spot was beside: nothing was learnt of it, and it makes nothing cooler.</summary>
public sealed class UnseenWeatherTests
{
    private static readonly Lazy<(OffsetFit Fit, List<WeatherSample> Days)> Learnt = new(() =>
    {
        var days = Days(21, seed: 14).Select((d, i) => d with
        {
            WindMetersPerSecond = 2 + Math.Sin(i),
            SolarWattsPerSquareMeter = Math.Max(0, (d.SurfaceCelsius!.Value - d.AirCelsius + 2) / 0.026),
        }).ToList();
        return (new OffsetModel(new OffsetOptions()).Fit(Plaza, days, Start.AddDays(20)), days);
    });

    [Theory]
    [InlineData(24)]
    [InlineData(2)]
    public void A_shower_does_not_cool_a_plaza_whose_fit_knows_dry_days_only(double noonKelvin)
    {
        var noon = Start.AddDays(6).AddHours(13);
        var dry = DryDays(noon, noonKelvin);
        var fit = new OffsetModel(new OffsetOptions()).Fit(Plaza, dry, noon);
        List<WeatherSample> Then(double air, double humidity) =>
            [.. dry, .. Enumerable.Range(1, 30).Select(i => new WeatherSample(noon.AddMinutes(i), air) { HumidityPercent = humidity })];

        foreach (var minutes in (int[])[10, 20, 30])
        {
            var shower = Estimate(fit, Then(27, 80), noon.AddMinutes(minutes));
            var drier = Estimate(fit, Then(27, 30), noon.AddMinutes(minutes));
            Assert.True(shower.UpperCelsius >= drier.UpperCelsius + 2, $"{minutes} min: {shower.UpperCelsius:F1} °C, {drier.UpperCelsius:F1} °C in dry air");
            Assert.InRange(shower.SurfaceCelsius, drier.SurfaceCelsius - 0.1, drier.SurfaceCelsius + 0.1);
            // The ground has lost no more than the air.
            Assert.True(shower.UpperCelsius >= 27 + noonKelvin - 2, $"{minutes} min: {shower.UpperCelsius:F1} °C over air of 27 °C");
        }
    }

    [Fact]
    public void A_fit_remembers_the_weather_it_saw_by_how_high_the_sun_stood()
    {
        var (fit, days) = Learnt.Value;
        var seen = fit.Seen!;
        Assert.Equal(OffsetFit.SeenCount, seen.Count);
        Assert.All(seen, one => Assert.Equal(3, one.WindMetersPerSecond!.Value.Most, 0.01));
        Assert.Equal(0, seen[0].SolarWattsPerSquareMeter!.Value.Least);
        Assert.True(seen[2].HumidityPercent!.Value.Most < seen[0].HumidityPercent!.Value.Most, "noons are drier than nights");
        Assert.True(seen[2].AirCelsius!.Value.Least > seen[0].AirCelsius!.Value.Least, "noons are warmer than nights");
        Assert.Null(new OffsetModel(new OffsetOptions()).Prior(Plaza, Start).Seen);
        Assert.Equal(days.Where(d => d.At <= Start.AddDays(20)).Max(d => d.AirCelsius), seen.Max(one => one.AirCelsius!.Value.Most), 1e-9);
    }

    [Fact]
    public void No_input_outside_what_was_seen_gives_a_cooler_upper_or_a_warmer_lower_end_than_its_edge() =>
        Gen.Select(Gen.Int[0, 47], Gen.Int[1, 12], Gen.Int[0, 24], Gen.Double[-20, 20], Gen.Double[-60, 60], Gen.Double[-3, 15], Gen.Double[-300, 600]).Sample(
            (step, beyondSteps, darkSteps, air, humidity, wind, solar) =>
            {
                var (fit, days) = Learnt.Value;
                var now = Start.AddDays(20).AddMinutes(30 * (step + 1));
                List<WeatherSample> Seen(IEnumerable<WeatherSample> samples) => [.. samples.Select(s => AtEdge(fit, s))];
                var known = Seen(days.Where(d => d.At <= now && d.At > now.AddDays(-3)).Select(d => d.At > now.AddMinutes(-30 * darkSteps) ? d with { SurfaceCelsius = null } : d));
                List<WeatherSample> unseen = [.. known.Select(d => d.At > now.AddMinutes(-30 * beyondSteps) ? d with
                {
                    AirCelsius = d.AirCelsius + air,
                    HumidityPercent = Math.Clamp(d.HumidityPercent!.Value + humidity, 1, 100),
                    WindMetersPerSecond = Math.Max(0, d.WindMetersPerSecond!.Value + wind),
                    SolarWattsPerSquareMeter = Math.Max(0, d.SolarWattsPerSquareMeter!.Value + solar),
                    SurfaceCelsius = null,
                } : d)];
                var edge = Seen(unseen);

                var (beyond, at) = (Estimate(fit, unseen, now), Estimate(fit, edge, now));

                // Of air that is colder than ever the ground may lose as much as the air, and no more.
                Assert.True(beyond.UpperCelsius - unseen[^1].AirCelsius >= at.UpperCelsius - edge[^1].AirCelsius - 1e-6, $"upper: {beyond} {at}");
                Assert.True(beyond.LowerCelsius - unseen[^1].AirCelsius <= at.LowerCelsius - edge[^1].AirCelsius + 1e-6, $"lower: {beyond} {at}");
            }, iter: 400);

    private static SurfaceEstimate Estimate(OffsetFit fit, IReadOnlyList<WeatherSample> weather, DateTimeOffset at) =>
        new OffsetModel(new OffsetOptions()).Estimate(fit, Plaza, weather, [at])[0];

    /// <summary>A sample with each input held inside what the fit has seen under such a sun.</summary>
    private static WeatherSample AtEdge(OffsetFit fit, WeatherSample sample)
    {
        var elevation = SolarPosition.At(sample.At.AddMinutes(-15), Plaza.LatitudeDegrees, Plaza.LongitudeDegrees).ElevationDegrees;
        var seen = fit.Seen![elevation < 0 ? 0 : elevation < 30 ? 1 : 2];
        static double Hold(double? value, SeenRange? range) => Math.Clamp(value!.Value, range!.Value.Least, range.Value.Most);
        return sample with
        {
            AirCelsius = Hold(sample.AirCelsius, seen.AirCelsius),
            HumidityPercent = Hold(sample.HumidityPercent, seen.HumidityPercent),
            WindMetersPerSecond = Hold(sample.WindMetersPerSecond, seen.WindMetersPerSecond),
            SolarWattsPerSquareMeter = Hold(sample.SolarWattsPerSquareMeter, seen.SolarWattsPerSquareMeter),
        };
    }

    /// <summary>Six days of air between 22 and 36 °C that all are as dry, the ground over the air by 2 K at night and by so much more at noon.</summary>
    private static List<WeatherSample> DryDays(DateTimeOffset noon, double noonKelvin) => [.. Enumerable.Range(0, 6 * 144).Select(i =>
    {
        var at = noon.AddMinutes((i - (6 * 144) + 1) * 10);
        var sun = Math.Max(0, Math.Cos((at - noon).TotalDays * 2 * Math.PI));
        var air = 22 + (14 * sun);
        return new WeatherSample(at, air) { HumidityPercent = 30, SurfaceCelsius = air + 2 + ((noonKelvin - 2) * sun) + (0.3 * Math.Sin(i)) };
    })];
}
