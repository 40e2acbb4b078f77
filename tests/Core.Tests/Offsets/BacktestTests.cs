using PavementWatch.Core.Offsets;

namespace PavementWatch.Core.Tests.Offsets;

public sealed class BacktestTests
{
    [Theory]
    [InlineData("bondville", OffsetInputs.Humidity, 0.90)]
    [InlineData("bondville", OffsetInputs.All, 0.79)]
    [InlineData("hornsgatan", OffsetInputs.Humidity, 0.90)]
    public void The_dark_sensor_beats_the_hour_of_day_table(string station, OffsetInputs inputs, double mostOfTable)
    {
        var report = Stations.Run(station, inputs);
        Assert.True(report.RatioToTable <= mostOfTable, $"ratio {report.RatioToTable:F3}, expected at most {mostOfTable}");
    }
}
