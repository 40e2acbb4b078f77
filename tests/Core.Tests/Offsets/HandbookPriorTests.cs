using PavementWatch.Core.Offsets;
using PavementWatch.Core.Readings;
using PavementWatch.Core.Surfaces;
using PavementWatch.Core.Weather;
using PavementWatch.Tests;

namespace PavementWatch.Core.Tests.Offsets;

public sealed class HandbookPriorTests
{
    private const string Chestovich =
        "Chestovich et al., J. Burn Care Res. 44(2) (2023) 438–445: Las Vegas, 6 Aug 2020 14:10, air 48.89 °C, 940 W/m²";

    private const string Practice = "common practice, no source: clear 80 °F midday";

    [Theory]
    [InlineData(SurfaceKind.Asphalt, 74.44)]
    [InlineData(SurfaceKind.Brick, 66.67)]
    [InlineData(SurfaceKind.ConcreteGrey, 62.22)]
    [InlineData(SurfaceKind.ConcretePale, 62.22)]
    [InlineData(SurfaceKind.Sand, 61.67)]
    [InlineData(SurfaceKind.Gravel, 76.67)] // Porous rock.
    [InlineData(SurfaceKind.MetalGrate, 62.22)] // Galvanised metal.
    public void Without_data_the_desert_maxima_come_out_within_four_kelvin(SurfaceKind kind, double surfaceCelsius)
    {
        var at = new DateTimeOffset(2020, 8, 6, 14, 10, 0, TimeSpan.FromHours(-7));
        // Once with the sky taken as clear, once with the measured irradiance.
        Published.Near(surfaceCelsius, Estimate(kind, at, 36.17, -115.14, 48.89, null), 4, Chestovich);
        Published.Near(surfaceCelsius, Estimate(kind, at, 36.17, -115.14, 48.89, 940), 4, Chestovich);
    }

    [Theory]
    [InlineData(SurfaceKind.Asphalt, 40)]
    [InlineData(SurfaceKind.ConcretePale, 25)]
    [InlineData(SurfaceKind.Grass, -3)]
    public void Without_data_the_common_rules_for_a_clear_midday_come_out_within_three_kelvin(
        SurfaceKind kind, double offsetFahrenheit)
    {
        const double air = 80 / 1.8 - 32 / 1.8;
        var at = new DateTimeOffset(2021, 6, 21, 18, 0, 0, TimeSpan.Zero);
        Published.Near(air + offsetFahrenheit / 1.8, Estimate(kind, at, 37.4, -90, air, null), 3, Practice);
    }

    [Fact]
    public void Unknown_ground_is_taken_to_be_at_least_as_hot_as_any_kind()
    {
        var at = new DateTimeOffset(2021, 6, 21, 18, 0, 0, TimeSpan.Zero);
        var unknown = Estimate(SurfaceKind.Unknown, at, 37.4, -90, 30, null);
        foreach (var kind in Enum.GetValues<SurfaceKind>())
            Assert.True(Estimate(kind, at, 37.4, -90, 30, null) <= unknown + 0.001, $"{kind} is hotter");
    }

    [Fact]
    public void Each_figure_says_where_it_is_from()
    {
        var figures = typeof(HandbookPrior.Ground).GetProperties().Where(p => p.PropertyType == typeof(HandbookPrior.Figure)).ToList();
        // All that a kind's balance and errors rest on.
        Assert.Equal(9, figures.Count);
        Assert.All(Enum.GetValues<SurfaceKind>(), kind => Assert.All(figures, figure =>
            Assert.True(((HandbookPrior.Figure)figure.GetValue(HandbookPrior.Of(kind))!).Source?.Length > 10, $"{kind}, {figure.Name}")));
    }

    private static double Estimate(
        SurfaceKind kind, DateTimeOffset at, double latitude, double longitude, double air, double? solar)
    {
        var spot = new Spot(SpotId.Parse("quarry-steps"), "Quarry Steps", kind, latitude, longitude, "UTC");
        var model = new OffsetModel(new OffsetOptions());
        var weather = new List<WeatherSample>();
        for (var t = at.AddDays(-2); t <= at; t = t.AddMinutes(10))
        {
            var sun = PavementWatch.Core.Sun.SolarPosition.At(t, latitude, longitude).ElevationDegrees;
            var clear = PavementWatch.Core.Sun.ClearSky.GlobalWattsPerSquareMeter(sun);
            weather.Add(new WeatherSample(t, air) { SolarWattsPerSquareMeter = solar is null ? null : Math.Min(clear, solar.Value) });
        }

        return model.Estimate(model.Prior(spot, at), spot, weather, [at])[0].SurfaceCelsius;
    }
}
