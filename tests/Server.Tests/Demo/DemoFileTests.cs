using System.Text.Json;
using PavementWatch.Core.Readings;
using PavementWatch.Server.Analyst;
using PavementWatch.Server.Commands;
using PavementWatch.Server.Demo;

namespace PavementWatch.Server.Tests.Demo;

/// <summary>The table with which somebody new sees a backtest's figures.</summary>
public sealed class DemoFileTests : IDisposable
{
    private readonly string _folder = Directory.CreateTempSubdirectory("pw-demo-file-").FullName;

    public void Dispose() => Directory.Delete(_folder, recursive: true);

    [Fact]
    public async Task It_is_the_invented_towns_and_the_backtest_reads_all_of_it_and_has_something_to_say()
    {
        var file = Path.Combine(_folder, "new", "ferngate.csv");
        Assert.Contains("2160 rows of North Gate plaza, asphalt, invented", await RunAsync("demo", "--write-file", file), StringComparison.Ordinal);

        using (var text = File.OpenText(file))
        {
            var read = BacktestCsv.Read(text, cancellationToken: TestContext.Current.CancellationToken);
            Assert.Empty(read.Remarks);
            Assert.Equal(45 * 48, read.Rows.Count);
            Assert.Equal((DemoDay.Summer.Morning.AddDays(-45).AddMinutes(30), DemoDay.Summer.Morning), (read.Rows[0].At, read.Rows[^1].At));
            // Each a mean of the half-hour before it, with the scatter of a probe: on average it is the town's own ground.
            var ground = new DemoGround(DemoDay.Summer, [DemoTown.Spots[0]], DemoDay.Summer.Morning.AddDays(-45));
            var last = read.Rows.Where(r => r.At > DemoDay.Summer.Morning.AddDays(-2)).ToList();
            var errors = last.ConvertAll(r => r.SurfaceCelsius!.Value - ground.SurfaceCelsius(SpotId.Parse("north-gate-plaza"), r.At.AddMinutes(-14.5)));
            Assert.InRange(errors.Average(), -0.1, 0.1);
            Assert.InRange(Math.Sqrt(errors.Average(e => e * e)), 0.2, 0.8);
            Assert.All(read.Rows, r => Assert.True(r is { HumidityPercent: > 5, WindMetersPerSecond: > 0, SolarWattsPerSquareMeter: >= 0 }, $"{r}"));
        }

        var json = JsonDocument.Parse(await RunAsync(
            "backtest", file, "--latitude", "37.4051", "--longitude", "-97.0012", "--surface", "asphalt", "--time-zone", "America/Chicago", "--json")).RootElement;
        double Rmse(string of) => json.GetProperty(of).GetProperty("all").GetProperty("rmseKelvin").GetDouble();
        Assert.True(Rmse("darkSensor") < Rmse("hourOfDayTable"), $"{Rmse("darkSensor")} K, table {Rmse("hourOfDayTable")} K");
        // Hot days: what the open measurements cannot show, the times at which the limit is crossed.
        Assert.InRange(json.GetProperty("crossings").GetProperty("hits").GetInt32(), 20, 45);
    }

    [Fact]
    public void It_is_the_same_each_time_and_another_for_another_spot()
    {
        static string Of(DemoSpot spot)
        {
            using var text = new StringWriter();
            DemoFile.Write(DemoDay.Summer, spot, text);
            return text.ToString();
        }

        Assert.Equal(Of(DemoTown.Spots[1]), Of(DemoTown.Spots[1]));
        Assert.NotEqual(Of(DemoTown.Spots[1]), Of(DemoTown.Spots[2]));
    }

    private static async Task<string> RunAsync(params string[] args)
    {
        using var output = new StringWriter();
        using var error = new StringWriter();
        Assert.True(await CommandLine.RunAsync(args, output, error) == CommandLine.Done, error.ToString());
        return output.ToString();
    }
}
