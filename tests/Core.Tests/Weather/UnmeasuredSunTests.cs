using System.Globalization;
using CsCheck;
using PavementWatch.Core.Sun;
using PavementWatch.Core.Weather;
using PavementWatch.Tests;

namespace PavementWatch.Core.Tests.Weather;

/// <summary>Sun that is given and was not measured. Expected rows: by the rule as it is documented.</summary>
public sealed class UnmeasuredSunTests
{
    private const double Latitude = 37.4;
    private const double Longitude = -97.0;

    private static readonly int[] Lengths = [1, 5, 10, 30, 60];

    private static readonly TimeSpan Gap = TimeSpan.FromHours(3);

    // Ferngate's summer time is five hours behind UTC; the sun is over 10° from about 07:20 to 19:50.
    private static readonly DateTimeOffset Midnight = new(2026, 7, 14, 5, 0, 0, TimeSpan.Zero);

    [Theory]
    //          minutes  dark from  dark to  found  why
    [InlineData(10, "11:00", "12:00", false, "an hour of ten minutes is not longer than an hour")]
    [InlineData(10, "11:00", "12:10", true, "an hour and ten minutes")]
    [InlineData(1, "11:00", "12:01", true, "of minutes one more than an hour")]
    [InlineData(60, "11:00", "12:00", false, "one row of an hour")]
    [InlineData(60, "11:00", "13:00", true, "two of them")]
    [InlineData(10, "21:00", "23:59", false, "it is night")]
    [InlineData(10, "19:00", "23:59", false, "the sun goes under 10° before the hour is over")]
    public void A_dark_spell_of_more_than_an_hour_by_day_is_not_measured(int minutes, string from, string to, bool found, string why)
    {
        var rows = Rows(1, minutes, at => at > Clock(from) && at <= Clock(to) ? 0.005 : 0.8);

        var unmeasured = UnmeasuredSun.In(rows, Latitude, Longitude, Gap);

        Assert.Equal(
            rows.Select(r => found && r.At > Clock(from) && r.At <= Clock(to)), unmeasured);
        Assert.True(found == unmeasured.Any(u => u), why);
    }

    [Theory]
    //          minutes  nothing from  to   found  why
    [InlineData(10, "12:00", "12:10", true, "ten minutes at noon")]
    [InlineData(1, "12:00", "12:01", true, "a minute")]
    [InlineData(10, "19:10", "19:50", false, "the sun is at 10 to 20°")]
    [InlineData(10, "21:00", "23:59", false, "it is night")]
    public void Nothing_at_all_with_the_sun_high_is_not_measured_from_its_first_row(int minutes, string from, string to, bool found, string why)
    {
        var rows = Rows(1, minutes, at => at > Clock(from) && at <= Clock(to) ? 0 : 0.8);

        Assert.True(
            rows.Select(r => found && r.At > Clock(from) && r.At <= Clock(to)).SequenceEqual(UnmeasuredSun.In(rows, Latitude, Longitude, Gap)), why);
    }

    [Theory]
    [InlineData(0, 20, false)]
    [InlineData(0, 20.01, true)]
    [InlineData(-1, 60, true)]
    [InlineData(0.1, 90, false)]
    public void Zeros_are_a_measurement_up_to_twenty_degrees(double measured, double elevation, bool nothing) =>
        Assert.Equal(nothing, UnmeasuredSun.IsNothingByDay(measured, elevation));

    [Theory]
    [InlineData(0.0099, true)]
    [InlineData(0.0101, false)]
    public void The_darkest_sky_leaves_a_hundredth(double fraction, bool found) =>
        Assert.Equal(found, UnmeasuredSun.In(Rows(1, 10, at => at > Clock("11:00") && at <= Clock("15:00") ? fraction : 0.8), Latitude, Longitude, Gap).Any(u => u));

    [Fact]
    public void A_sensor_that_is_out_stays_so_over_night_until_it_shows_the_sun_again()
    {
        var rows = Rows(2, 10, at => at > Clock("11:00") && at <= Clock("1.09:00") ? 0 : 0.8);

        var unmeasured = UnmeasuredSun.In(rows, Latitude, Longitude, Gap);

        Assert.Equal(rows.Select(r => r.At > Clock("11:00") && r.At <= Clock("1.09:00")), unmeasured);
    }

    [Fact]
    public void An_evening_and_a_morning_of_less_than_an_hour_do_not_add_up() =>
        Assert.DoesNotContain(true, UnmeasuredSun.In(Rows(2, 10, at => at > Clock("19:00") && at <= Clock("1.08:00") ? 0.005 : 0.8), Latitude, Longitude, Gap));

    [Fact]
    public void What_a_sky_leaves_is_measured_and_what_never_shows_the_sun_by_day_is_not_wherever_and_whenever() =>
        Gen.Select(Gen.Double[-65, 65], Gen.Double[-180, 180], Gen.Int[0, 364], Gen.Int[0, 4].Select(i => Lengths[i]), Gen.Double[0.011, 1.2]).Sample((latitude, longitude, day, minutes, fraction) =>
        {
            var start = new DateTimeOffset(2026, 1, 1, 0, 0, 0, TimeSpan.Zero).AddDays(day);
            var sky = Rows(start, 2, minutes, latitude, longitude, _ => fraction);
            Assert.DoesNotContain(true, UnmeasuredSun.In(sky, latitude, longitude, Gap));

            var zeros = sky.Select(r => (r.At, 0.0)).ToList();
            var unmeasured = UnmeasuredSun.In(zeros, latitude, longitude, Gap);
            // Zeros by night are right until a day has shown that they are no measurement.
            var up = sky.Select(r => SolarPosition.At(r.At.AddMinutes(-minutes / 2.0), latitude, longitude).ElevationDegrees > UnmeasuredSun.SunUpDegrees).ToList();
            var known = unmeasured.ToList().IndexOf(true);
            Assert.True(known < 0 || up[known]);
            Assert.All(Enumerable.Range(0, sky.Count), i => Assert.True(known < 0 || i < known || unmeasured[i]));
            // A whole day of more than an hour is enough.
            Assert.True(known >= 0 || LongestRun(up) * minutes <= 60, $"{LongestRun(up)} rows of {minutes} min");
        }, iter: 300);

    [Theory]
    //          file                                latitude longitude a day with zeros before its evening
    [InlineData("bondville-1998-half-hourly.csv", 40.01, -88.37, "1998-06-29")]
    [InlineData("hornsgatan-2010-summer-hourly.csv", 59.32, 18.05, null)]
    public void Measured_skies_are_believed_storms_and_all(string file, double latitude, double longitude, string? zeros)
    {
        var lines = File.ReadAllLines(SharedData.RequireFile(file));
        var column = Array.IndexOf(lines[0].Split(','), "solar_wm2");
        List<(DateTimeOffset At, double Sun)> rows =
        [
            .. lines.Skip(1).Select(l => l.Split(',')).Where(f => f[column].Length > 0)
                .Select(f => (DateTimeOffset.Parse(f[0], CultureInfo.InvariantCulture), double.Parse(f[column], CultureInfo.InvariantCulture))),
        ];

        var unmeasured = UnmeasuredSun.In(rows, latitude, longitude, Gap);

        // The night after it goes with it.
        var days = rows.Zip(unmeasured).Where(r => r.Second).Select(r => r.First.At.AddHours(-12).ToString("yyyy-MM-dd", CultureInfo.InvariantCulture)).Distinct();
        Assert.Equal(zeros is null ? [] : [zeros], days);
        Assert.All(rows.Zip(unmeasured).Where(r => r.Second), r => Assert.True(r.First.Sun < 5, $"{r.First}"));
    }

    private static int LongestRun(IEnumerable<bool> up) =>
        up.Aggregate((Now: 0, Most: 0), (run, lit) => lit ? (run.Now + 1, Math.Max(run.Most, run.Now + 1)) : (0, run.Most)).Most;

    private static DateTimeOffset Clock(string clock) => Midnight + TimeSpan.Parse(clock, CultureInfo.InvariantCulture);

    private static List<(DateTimeOffset At, double Sun)> Rows(int days, int minutes, Func<DateTimeOffset, double> fraction) =>
        Rows(Midnight, days, minutes, Latitude, Longitude, fraction);

    private static List<(DateTimeOffset At, double Sun)> Rows(
        DateTimeOffset start, int days, int minutes, double latitude, double longitude, Func<DateTimeOffset, double> fraction) =>
    [
        .. Enumerable.Range(1, days * 1440 / minutes).Select(i => start.AddMinutes(i * minutes)).Select(at => (
            at, fraction(at) * ClearSky.GlobalWattsPerSquareMeter(SolarPosition.At(at.AddMinutes(-minutes / 2.0), latitude, longitude).ElevationDegrees))),
    ];
}
