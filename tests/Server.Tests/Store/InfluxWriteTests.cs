using System.Text.Json;
using PavementWatch.Core.Readings;
using PavementWatch.Server.Store;
using static PavementWatch.Server.Tests.Store.SomeReadings;

namespace PavementWatch.Server.Tests.Store;

/// <summary>
/// What InfluxDB.Client sends, taken by a real server that speaks InfluxDB's write protocol. VictoriaMetrics answers no
/// Flux, so questions go to the stand-in and the stored numbers are read with VictoriaMetrics' own export.
/// </summary>
public sealed class InfluxWriteTests
{
    [Fact]
    public async Task A_day_written_to_a_real_server_is_there_number_by_number()
    {
        var program = ChildProcess.Require("victoria-metrics", "/usr/bin/victoria-metrics");
        var stop = TestContext.Current.CancellationToken;
        var folder = Directory.CreateTempSubdirectory("victoria-").FullName;
        var port = ChildProcess.FreePort();
        var url = $"http://127.0.0.1:{port}";
        try
        {
            await using var victoria = await ChildProcess.StartAsync(
                program, [$"-storageDataPath={folder}", $"-httpListenAddr=127.0.0.1:{port}", "-retentionPeriod=100y"], port, stop);
            await using var influx = await LoopbackInflux.StartAsync();
            influx.HandOnTo = url;
            await using var store = new InfluxReadingStore(InfluxReadingStoreTests.OptionsFor(influx));
            var day = WholeDay(Plaza);

            Assert.Equal(1440, (await store.AppendAsync(day, stop)).Count);
            Assert.Empty(await store.AppendAsync(day, stop));
            await store.AppendAsync([Suspect(Plaza, At("23:59:30"), 61.5, Doubt.Wet)], stop);

            Assert.Equal(2, influx.WriteCount);
            var exported = await ExportAsync(url, "reading_surface_celsius", stop);
            Assert.Equal(
                day.Append(Suspect(Plaza, At("23:59:30"), 61.5)).OrderBy(stored => stored.Reading.MeasuredAt)
                    .Select(stored => (stored.Reading.MeasuredAt.ToUnixTimeMilliseconds(), stored.Reading.SurfaceCelsius!.Value)),
                exported);
            Assert.Equal(1440, (await ExportAsync(url, "reading_air_celsius", stop)).Count);
        }
        finally
        {
            Directory.Delete(folder, recursive: true);
        }
    }

    // https://docs.victoriametrics.com/#how-to-export-time-series: a JSON object a line, timestamps in milliseconds.
    private static async Task<List<(long At, double Value)>> ExportAsync(string url, string metric, CancellationToken stop)
    {
        using var http = new HttpClient();
        await http.GetAsync(new Uri(url + "/internal/force_flush"), stop);
        var text = await http.GetStringAsync(new Uri($"{url}/api/v1/export?match[]={metric}{{spot=\"{Plaza}\"}}"), stop);
        var values = new List<(long At, double Value)>();
        foreach (var line in text.Split('\n', StringSplitOptions.RemoveEmptyEntries))
        {
            using var series = JsonDocument.Parse(line);
            values.AddRange(series.RootElement.GetProperty("timestamps").EnumerateArray().Select(at => at.GetInt64())
                .Zip(series.RootElement.GetProperty("values").EnumerateArray().Select(value => value.GetDouble())));
        }

        values.Sort();
        return values;
    }
}
