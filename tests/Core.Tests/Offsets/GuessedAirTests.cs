using PavementWatch.Core.Offsets;
using PavementWatch.Core.Surfaces;
using PavementWatch.Core.Tests.Backtesting;

namespace PavementWatch.Core.Tests.Offsets;

/// <summary>Intervals of the hours ahead, whose air nobody knows yet.</summary>
public sealed class GuessedAirTests
{
    private static readonly Spot Plaza = new(
        Core.Readings.SpotId.Parse("plaza"), "plaza", SurfaceKind.Asphalt, 37.4, -97, "UTC");

    private static readonly DateTimeOffset Noon = new(2026, 7, 14, 17, 0, 0, TimeSpan.Zero);

    [Theory]
    [InlineData("bondville")]
    [InlineData("hornsgatan")]
    public void Interval_of_the_next_day_and_a_half_holds_nine_readings_in_ten(string station)
    {
        var request = Stations.Request(station);
        var rows = request.Rows.Select(r => r with { WindMetersPerSecond = null, SolarWattsPerSquareMeter = null }).ToList();
        var model = new OffsetModel(new OffsetOptions());
        var (inside, narrow, all) = (0, 0, 0);
        // Every third day, to be done soon; fitted at its beginning, estimated ahead from each quarter of it.
        for (var day = request.From!.Value; day < request.To!.Value.AddDays(-1); day = day.AddDays(3))
        {
            var midnight = new DateTimeOffset(day.ToDateTime(TimeOnly.MinValue), TimeSpan.Zero);
            var fit = model.Fit(request.Spot, rows, midnight);
            foreach (var hour in new[] { 0, 6, 12, 18 })
            {
                var now = midnight.AddHours(hour);
                var known = rows.Where(r => r.At <= now && r.At > now.AddDays(-3)).ToList();
                var ahead = rows.Where(r => r.At > now && r.At <= now.AddHours(36) && r.SurfaceCelsius is not null).ToList();
                foreach (var (row, estimate) in ahead.Zip(model.Estimate(fit, request.Spot, known, [.. ahead.Select(r => r.At)])))
                {
                    var wide = GuessedAir.Widen(estimate, row.At - known[^1].At, fit, 1);
                    all++;
                    narrow += row.SurfaceCelsius >= estimate.LowerCelsius && row.SurfaceCelsius <= estimate.UpperCelsius ? 1 : 0;
                    inside += row.SurfaceCelsius >= wide.LowerCelsius && row.SurfaceCelsius <= wide.UpperCelsius ? 1 : 0;
                }
            }
        }

        // Without the widening about half, which shows that it is needed. What is promised is 90; days resemble each other, so some leeway.
        Assert.InRange(100.0 * narrow / all, 30, 60);
        Assert.InRange(100.0 * inside / all, 86, 94);
    }

    [Fact]
    public void It_widens_with_time_less_for_a_forecast_and_not_where_the_air_is_known()
    {
        var fit = new OffsetModel(new OffsetOptions()).Prior(Plaza, Noon);
        var estimate = new SurfaceEstimate(Noon, 50, 46, 56) { LeanKelvin = 2 };
        double Width(double hours, double fraction)
        {
            var wide = GuessedAir.Widen(estimate, TimeSpan.FromHours(hours), fit, fraction);
            // What is expected stays, and the end that lay further out does so still.
            Assert.Equal((50, 2), (wide.SurfaceCelsius, wide.LeanKelvin));
            Assert.True(wide.UpperCelsius - 50 > 50 - wide.LowerCelsius);
            return wide.UpperCelsius - wide.LowerCelsius;
        }

        Assert.Equal(10, Width(-1, 1));
        Assert.Equal(10, Width(0.25, 1));
        var hours = new[] { 0.5, 1, 3, 6, 12, 24, 36 };
        Assert.Equal(hours.Select(h => Width(h, 1)).Order(), hours.Select(h => Width(h, 1)));
        Assert.All(hours, h => Assert.InRange(Width(h, GuessedAir.ForecastFraction), 10, Width(h, 1)));
    }
}
