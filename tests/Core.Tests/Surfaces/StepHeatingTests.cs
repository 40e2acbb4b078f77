using PavementWatch.Core.Surfaces;
using PavementWatch.Tests;

namespace PavementWatch.Core.Tests.Surfaces;

public sealed class StepHeatingTests
{
    private static readonly TimeSpan TenMinutes = TimeSpan.FromMinutes(10);

    [Theory]
    //          flux effusivity rise
    [InlineData(400, 1250, 8.84)] // asphalt
    [InlineData(400, 530, 20.86)] // timber
    [InlineData(400, 1800, 6.14)] // concrete
    [InlineData(400, 620, 17.83)] // dry sand
    public void The_rise_in_ten_minutes_agrees(double flux, double effusivity, double rise) =>
        Published.Near(rise, StepHeating.RiseKelvin(flux, effusivity, TenMinutes), 0.005, "Carslaw and Jaeger 1959, section 2.9, worked by hand");

    [Theory]
    //          kind                      rise under 800 W/m² of returning sun
    [InlineData(SurfaceKind.Asphalt, 16.15)]
    [InlineData(SurfaceKind.ConcretePale, 6.19)]
    [InlineData(SurfaceKind.ConcreteGrey, 8.67)]
    [InlineData(SurfaceKind.Brick, 13.50)]
    [InlineData(SurfaceKind.Stone, 6.97)]
    [InlineData(SurfaceKind.Sand, 21.40)]
    [InlineData(SurfaceKind.TimberDeck, 28.93)]
    [InlineData(SurfaceKind.RubberTile, 20.31)]
    public void Ten_minutes_of_sun_undo_a_cloud_on_every_kind(SurfaceKind kind, double rise)
    {
        var ground = SurfaceCatalogue.Of(kind);
        Published.Near(
            rise,
            StepHeating.RiseKelvin(ground.AbsorptanceFraction.Value * 800, ground.EffusivityWattRootSecondsPerSquareMeterKelvin.Value, TenMinutes),
            0.01,
            "2·q·√(t/π)/e worked by hand from the handbook's absorptance and effusivity");
    }

    [Fact]
    public void The_time_is_the_rise_turned_round()
    {
        // By arithmetic: π·(10·1205/(2·880))² = 147.3 s.
        Published.Near(147.3, StepHeating.TimeToRise(10, 880, 1205).TotalSeconds, 0.05, "by arithmetic");
        Published.Near(10, StepHeating.RiseKelvin(880, 1205, StepHeating.TimeToRise(10, 880, 1205)), 1e-4, "by definition");
    }

    [Fact]
    public void With_losses_it_rises_less()
    {
        // x = 10·√3600/600 = 1, and exp(1)·erfc(1) = 2.718282 · 0.157299 = 0.427584.
        Published.Near(40 * (1 - 0.427584), StepHeating.RiseKelvin(400, 600, TimeSpan.FromHours(1), 10), 0.001, "Carslaw and Jaeger 1959, section 2.7; erfc(1) from tables");
        Published.Near(40, StepHeating.RiseKelvin(400, 0, TenMinutes, 10), 1e-9, "by definition: nothing stored");
        Published.Near(0, StepHeating.RiseKelvin(400, 0, TimeSpan.Zero, 10), 1e-9, "by definition");
        foreach (var minutes in new[] { 1, 10, 60, 240 })
        {
            var time = TimeSpan.FromMinutes(minutes);
            Assert.True(StepHeating.RiseKelvin(700, 900, time, 10) < StepHeating.RiseKelvin(700, 900, time));
        }
    }

    [Fact]
    public void What_is_no_flux_or_ground_is_refused()
    {
        Assert.Throws<ArgumentOutOfRangeException>(() => StepHeating.RiseKelvin(-1, 1200, TenMinutes));
        Assert.Throws<ArgumentOutOfRangeException>(() => StepHeating.RiseKelvin(1, 0, TenMinutes));
        Assert.Throws<ArgumentOutOfRangeException>(() => StepHeating.RiseKelvin(1, 1200, -TenMinutes));
        Assert.Throws<ArgumentOutOfRangeException>(() => StepHeating.RiseKelvin(1, 1200, TenMinutes, 0));
        Assert.Throws<ArgumentOutOfRangeException>(() => StepHeating.TimeToRise(100, 1, 1200));
    }
}
