using System.Text.Json;
using PavementWatch.Core.Offsets;
using PavementWatch.Tests;

namespace PavementWatch.Core.Tests.Backtesting;

/// <summary>
/// The figures the offset is promised with, on two open measurements. The bounds are the promise where the model just
/// keeps it, and a little above what was measured where it does better, so that a step back is noticed.
/// </summary>
public sealed class BacktestTests
{
    [Theory]
    //          station       inputs                promised, held: RMSE over the table's
    [InlineData("bondville", OffsetInputs.Humidity, 0.90, 0.85)]
    [InlineData("bondville", OffsetInputs.All, 0.79, 0.76)]
    [InlineData("hornsgatan", OffsetInputs.Humidity, 0.90, 0.73)]
    [InlineData("hornsgatan", OffsetInputs.All, 0.79, 0.65)]
    public void The_dark_sensor_beats_the_hour_of_day_table_and_knows_how_far_it_is_off(
        string station, OffsetInputs inputs, double promised, double held)
    {
        var report = Stations.Run(station, inputs);
        Assert.True(held < promised);
        Assert.True(report.RatioToTable <= held, $"{report.RatioToTable:F3} of the table's RMSE, expected at most {held}");
        Assert.InRange(report.DarkSensor.All.BiasKelvin!.Value, -0.3, 0.3);
        // Promised for the hottest tenth of the hours as measured, from air and humidity: bias within half a kelvin.
        Assert.InRange(report.HottestTenth.BiasKelvin!.Value, -0.5, 0.5);
        Assert.InRange(report.HottestTenth.RmseKelvin!.Value / report.HourOfDayTable.All.RmseKelvin!.Value, 0, 1.25);

        var interval = report.DarkSensor.Interval;
        Assert.InRange(interval.CoveragePercent!.Value, 88, 92);
        Assert.InRange(interval.MeanWidthKelvin!.Value / report.DarkSensor.All.RmseKelvin!.Value, 0, 3.2);

        var hour = Assert.Single(report.Nowcast, n => n.AgeHours == 1);
        Assert.Equal(1, hour.AgeHours);
        Assert.InRange(hour.All.RmseKelvin!.Value / report.HourOfDayTable.All.RmseKelvin!.Value, 0, 0.50);
        Assert.All(
            report.Nowcast.Where(n => n.All.N > 0), n => Assert.InRange(n.Interval.CoveragePercent!.Value, 88, 92));
    }

    [Fact]
    public void The_yardstick_scores_what_was_published_with_the_data()
    {
        const string source = "stated for orientation with the task: the table about 1.8 and 1.2 K";
        Published.Near(1.8, Stations.Run("bondville", OffsetInputs.AirOnly).HourOfDayTable.All.RmseKelvin!.Value, 0.05, source);
        Published.Near(1.2, Stations.Run("hornsgatan", OffsetInputs.AirOnly).HourOfDayTable.All.RmseKelvin!.Value, 0.05, source);
    }

    [Fact]
    public void The_report_is_the_JSON_object_that_was_agreed()
    {
        var json = JsonDocument.Parse(Stations.Run("hornsgatan", OffsetInputs.AirOnly).ToJson()).RootElement;
        foreach (var path in new[]
        {
            "darkSensor.all.n", "darkSensor.all.rmseKelvin", "darkSensor.all.maeKelvin", "darkSensor.all.biasKelvin",
            "darkSensor.day.rmseKelvin", "darkSensor.interval.coveragePercent", "darkSensor.interval.meanWidthKelvin",
            "hourOfDayTable.all.rmseKelvin", "hourOfDayTable.day.rmseKelvin", "crossings.limitCelsius", "crossings.hits",
            "crossings.misses", "crossings.falseAlarms", "crossings.medianErrorMinutes",
        })
        {
            var at = json;
            foreach (var name in path.Split('.'))
                Assert.True(at.TryGetProperty(name, out at), path);
        }

        // An hourly file holds no surface of half an hour ago: that is no error of 0.
        var half = json.GetProperty("nowcast")[0];
        Assert.Equal((0, JsonValueKind.Null), (half.GetProperty("all").GetProperty("n").GetInt32(), half.GetProperty("all").GetProperty("rmseKelvin").ValueKind));
        Assert.Equal(JsonValueKind.Null, half.GetProperty("interval").GetProperty("coveragePercent").ValueKind);
        Assert.Equal([0.5, 1, 2, 3, 6], json.GetProperty("nowcast").EnumerateArray().Select(n => n.GetProperty("ageHours").GetDouble()));
    }
}
