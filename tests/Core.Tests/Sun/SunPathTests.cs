using PavementWatch.Core.Sun;

namespace PavementWatch.Core.Tests.Sun;

/// <summary>What is kept of the sun is what would be looked up anew, to the last bit.</summary>
public sealed class SunPathTests
{
    private static readonly DateTimeOffset Start = new(2030, 7, 14, 12, 0, 0, TimeSpan.Zero);

    [Fact]
    public void The_sun_that_was_kept_is_the_sun_that_is_looked_up()
    {
        var path = new SunPath();
        // On by a step, again, further ahead, less far, a day on, a month on, back, of another length, of other ends, of another place.
        (int Minutes, int Step, int Count, double Longitude)[] asked =
        [
            (0, 30, 145, -97), (30, 30, 145, -97), (30, 30, 145, -97), (60, 30, 151, -97), (90, 30, 145, -97), (24 * 60, 30, 145, -97), (30 * 24 * 60, 30, 145, -97),
            (0, 30, 145, -97), (0, 60, 73, -97), (60, 60, 73, -97), (75, 60, 73, -97), (75, 60, 73, 13), (75, 60, 1, 13),
        ];
        foreach (var (minutes, step, count, longitude) in asked)
        {
            var (first, elevation, clear, hours) = (Start.AddMinutes(minutes), new double[count], new double[count], new double[count]);

            path.Along(37.4, longitude, first.UtcTicks, step * TimeSpan.TicksPerMinute, elevation, clear, hours);

            for (var i = 0; i < count; i++)
            {
                var sun = SolarPosition.At(first.AddMinutes(step * i - step / 2), 37.4, longitude);
                Assert.Equal(
                    (sun.ElevationDegrees, ClearSky.GlobalWattsPerSquareMeter(sun.ElevationDegrees), (sun.HourAngleDegrees / 15 + 36) % 24),
                    (elevation[i], clear[i], hours[i]));
            }
        }
    }

    [Fact]
    public void A_place_that_is_not_on_Earth_is_refused()
    {
        var path = new SunPath();
        Assert.Throws<ArgumentOutOfRangeException>(() => path.Along(91, 0, Start.UtcTicks, TimeSpan.TicksPerHour, new double[1], new double[1], new double[1]));
        Assert.Throws<ArgumentOutOfRangeException>(() => path.Along(double.NaN, 0, Start.UtcTicks, TimeSpan.TicksPerHour, new double[1], new double[1], new double[1]));
    }
}
