using PavementWatch.Core.Offsets;
using PavementWatch.Core.Readings;
using PavementWatch.Core.Sun;
using PavementWatch.Core.Surfaces;
using PavementWatch.Core.Weather;

namespace PavementWatch.Core.Tests.Offsets;

/// <summary>What an all-clear has to outlast. By definition: design of the product, section 9.</summary>
public class SunBackTests
{
    private static readonly DateTimeOffset Now = new(2026, 7, 14, 20, 30, 0, TimeSpan.Zero);
    private static readonly Spot Plaza = new(SpotId.Parse("north-gate-plaza"), "North Gate plaza", SurfaceKind.Asphalt, 37.4, -97.0, "America/Chicago");

    [Fact]
    public void What_a_cloud_made_of_the_ground_is_not_carried_on()
    {
        DateTimeOffset[] ahead = [Now.AddMinutes(30)];
        var shaded = Weather(Now.AddMinutes(-40), null);
        var forecast = SpotEstimation.At(null, Plaza, shaded, ahead)[0].Value;
        var sunBack = SpotEstimation.SunBack(null, Plaza, shaded, ahead, Now, Now.AddMinutes(-40))[0];

        // Before the cloud it was at 54 to 56 °C.
        Assert.True(sunBack.SurfaceCelsius > forecast.SurfaceCelsius + 5, $"{forecast.SurfaceCelsius:F1} and {sunBack.SurfaceCelsius:F1} °C");
        Assert.InRange(sunBack.UpperCelsius, 52, 75);
        // Where nothing eased, nothing is left out.
        Assert.Equal(forecast, SpotEstimation.SunBack(null, Plaza, shaded, ahead, Now, null)[0]);
    }

    [Fact]
    public void The_sky_is_clear_from_now_on_where_sun_is_among_what_is_known()
    {
        var clear = Weather(Now, 150).WithClearSky(Plaza, Now, Now.AddMinutes(60));
        Assert.All(clear.Samples, s => Assert.Equal(s.At <= Now, s.SolarWattsPerSquareMeter == 150));
        Assert.Equal(Now.AddMinutes(60), clear.Samples[^1].At);
        Assert.Equal(
            ClearSky.GlobalWattsPerSquareMeter(SolarPosition.At(Now.AddMinutes(55), 37.4, -97.0).ElevationDegrees), clear.Samples[^1].SolarWattsPerSquareMeter!.Value, 6);
        Assert.All(clear.Samples, s => Assert.Equal(s.At <= Now, s.SurfaceCelsius is not null));
        Assert.Equal(clear.KnownUntil, Now);

        var unknown = Weather(Now, null);
        Assert.Same(unknown, unknown.WithClearSky(Plaza, Now, Now.AddMinutes(60)));
    }

    /// <summary>Three hot days in steps of ten minutes; the ground falls to 30 °C at a moment.</summary>
    private static SpotWeather Weather(DateTimeOffset cloudFrom, double? sun) => SpotWeather.Past(
    [
        .. Enumerable.Range(0, 3 * 144).Select(i => Now.AddMinutes(-10 * ((3 * 144) - 1 - i))).Select(at =>
        {
            var share = Math.Max(0, Math.Cos((at.TimeOfDay.TotalHours - 19.5) / 24 * 2 * Math.PI));
            var air = 22 + (13 * share);
            return new WeatherSample(at, air)
            {
                HumidityPercent = 35,
                SolarWattsPerSquareMeter = sun,
                SurfaceCelsius = at > cloudFrom ? 30 : air + (21 * share),
            };
        }),
    ]);
}
