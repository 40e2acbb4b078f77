using System.Globalization;
using System.Text.Json;
using PavementWatch.Core.Backtesting;
using PavementWatch.Core.Readings;
using PavementWatch.Core.Surfaces;
using PavementWatch.Core.Weather;
using PavementWatch.Tests;

namespace PavementWatch.Core.Tests.Backtesting;

/// <summary>What the handbook says of ground that nobody measures, against satellite surface temperatures of lots in Phoenix.</summary>
public sealed class HandbookBacktestTests
{
    private static readonly DateTimeOffset Noon = new(2026, 7, 14, 18, 0, 0, TimeSpan.Zero);

    [Theory]
    [InlineData("asphalt", SurfaceKind.Asphalt)]
    [InlineData("concrete", SurfaceKind.ConcreteGrey)]
    [InlineData("concrete", SurfaceKind.ConcretePale)]
    [InlineData("bare ground", SurfaceKind.Soil)]
    public void Ground_nobody_measures_is_met_on_summer_days_and_seldom_hotter_than_its_upper_end(string kind, SurfaceKind surface)
    {
        var report = HandbookBacktest.Run(Phoenix(surface), Scenes(kind), Weather(), 49, TestContext.Current.CancellationToken);
        Assert.True(report.SummerDay.N > 50 && report.Hot.N > 50, report.ToJson());
        Assert.True(Math.Abs(report.SummerDay.MedianBiasKelvin!.Value) <= 3, report.ToJson());
        Assert.True(report.Hot.AboveUpperPercent <= 10, report.ToJson());
    }

    [Fact]
    public void Scores_are_those_of_the_scenes_as_worked_by_hand()
    {
        // Air of 30 °C at night: each estimate is the same, and the errors are its distance from each scene.
        var night = new DateTimeOffset(2026, 7, 14, 8, 0, 0, TimeSpan.Zero);
        var weather = new Dictionary<string, IReadOnlyList<WeatherSample>> { ["gate"] = Hours(night.AddDays(-10), 20 * 24) };
        SurfaceScene Scene(double celsius) => new(night.AddMinutes(10), "gate", celsius);
        var lone = HandbookBacktest.Run(Phoenix(SurfaceKind.Asphalt), [Scene(30)], weather, 49, TestContext.Current.CancellationToken).All;
        var said = 30 + lone.BiasKelvin!.Value;
        var report = HandbookBacktest.Run(
            Phoenix(SurfaceKind.Asphalt), [Scene(said - 1), Scene(said), Scene(said + 4), new(night, "nowhere", 30), new(night.AddYears(1), "gate", 30)],
            weather, 49, TestContext.Current.CancellationToken);
        Assert.Equal(3, report.All.N);
        Published.Near(0, report.All.MedianBiasKelvin!.Value, 1e-9, "worked by hand: median of 1, 0, −4");
        Published.Near(-1, report.All.BiasKelvin!.Value, 1e-9, "worked by hand: mean of 1, 0, −4");
        Published.Near(Math.Sqrt(17 / 3.0), report.All.RmseKelvin!.Value, 1e-9, "worked by hand: √((1 + 0 + 16)/3)");
        Assert.Equal((0, null), (report.SummerDay.N, report.SummerDay.AboveUpperPercent));
    }

    [Fact]
    public void Scenes_are_sorted_by_season_sun_and_limit()
    {
        var weather = new Dictionary<string, IReadOnlyList<WeatherSample>>
        {
            ["gate"] = [.. Hours(Noon.AddDays(-4), 5 * 24), .. Hours(Noon.AddMonths(5).AddDays(-4), 5 * 24)],
        };
        var report = HandbookBacktest.Run(
            Phoenix(SurfaceKind.Asphalt),
            [new(Noon, "gate", 60), new(Noon, "gate", 49), new(Noon, "gate", 48.9), new(Noon.AddHours(-6), "gate", 49), new(Noon.AddMonths(5), "gate", 70)],
            weather, 49, TestContext.Current.CancellationToken);
        Assert.Equal((5, 3, 4), (report.All.N, report.SummerDay.N, report.Hot.N));
    }

    [Fact]
    public void The_report_is_the_JSON_object_that_was_agreed()
    {
        var json = JsonDocument.Parse(HandbookBacktest.Run(
            Phoenix(SurfaceKind.Asphalt), [], new Dictionary<string, IReadOnlyList<WeatherSample>>(), 49, TestContext.Current.CancellationToken).ToJson()).RootElement;
        Assert.Equal(["all", "summerDay", "hot"], json.EnumerateObject().Select(p => p.Name));
        Assert.All(json.EnumerateObject(), score => Assert.Equal(
            ["n", "medianBiasKelvin", "biasKelvin", "rmseKelvin", "aboveUpperPercent"], score.Value.EnumerateObject().Select(p => p.Name)));
    }

    private static Spot Phoenix(SurfaceKind kind) => new(SpotId.Parse("lot"), "lot", kind, 33.5, -112.0, "UTC");

    private static IReadOnlyList<WeatherSample> Hours(DateTimeOffset from, int count) =>
        [.. Enumerable.Range(1, count).Select(h => new WeatherSample(from.AddHours(h), 30))];

    private static List<SurfaceScene> Scenes(string kind) =>
        [.. Rows("phoenix-scenes-even-years.csv").Where(r => r["kind"] == kind).Select(r => new SurfaceScene(Time(r), r["station"], Number(r, "surface_celsius")!.Value))];

    private static Dictionary<string, IReadOnlyList<WeatherSample>> Weather() =>
        Rows("phoenix-weather-even-years.csv").Where(r => r["air_celsius"].Length > 0).GroupBy(r => r["station"]).ToDictionary(
            station => station.Key,
            IReadOnlyList<WeatherSample> (station) => [.. station.Select(r => new WeatherSample(Time(r), Number(r, "air_celsius")!.Value)
            {
                HumidityPercent = Number(r, "humidity_percent"),
                WindMetersPerSecond = Number(r, "wind_mps"),
                SolarWattsPerSquareMeter = Number(r, "solar_wm2"),
            }).OrderBy(s => s.At)]);

    private static IEnumerable<Dictionary<string, string>> Rows(string file)
    {
        var lines = File.ReadAllLines(SharedData.RequireFile(file));
        var names = lines[0].Split(',');
        return lines.Skip(1).Select(line => names.Zip(line.Split(',')).ToDictionary(cell => cell.First, cell => cell.Second));
    }

    private static DateTimeOffset Time(Dictionary<string, string> row) => DateTimeOffset.Parse(row["time_utc"], CultureInfo.InvariantCulture);

    private static double? Number(Dictionary<string, string> row, string name) =>
        row[name].Length > 0 ? double.Parse(row[name], CultureInfo.InvariantCulture) : null;
}
