using Microsoft.Data.Sqlite;
using PavementWatch.Server.Commands;

namespace PavementWatch.Server.Tests.Commands;

/// <summary>Weather as an operator brings it in.</summary>
public sealed class WeatherCommandTests : IDisposable
{
    private readonly string _folder = Directory.CreateTempSubdirectory("pw-weather-").FullName;

    private static CancellationToken Cancel => TestContext.Current.CancellationToken;

    private string Data => $"--Data:Folder={Path.Combine(_folder, "data")}";

    public void Dispose()
    {
        SqliteConnection.ClearAllPools();
        Directory.Delete(_folder, recursive: true);
    }

    [Fact]
    public async Task Observed_weather_comes_in_once_and_a_site_is_known_by_its_spots()
    {
        await AddSpotAsync();
        var file = await FileAsync("time_utc,air_celsius,wind_mps\n2025-07-14T18:00:00Z,33,2\n2025-07-14T17:00:00Z,32,\n2025-07-14T23:00:00Z,28,1\n");

        var import = await RunAsync("import", "weather", file, "--site", "north gate", Data);
        var again = await RunAsync("import", "weather", file, "--site", "North Gate", Data);
        var business = await RunAsync("import", "weather", file, Data);
        var unknown = await RunAsync("import", "weather", file, "--site", "Nowhere", Data);

        Assert.Equal((0, "North Gate, observed: 3 times read, 3 new, 0 changed, 0 there already"), (import.Exit, import.Output.Trim()));
        Assert.Contains("import: rows were out of order and have been sorted by time", import.Error, StringComparison.Ordinal);
        Assert.Contains("import: 1 times the next row is more than 3 h later", import.Error, StringComparison.Ordinal);
        Assert.Equal("North Gate, observed: 3 times read, 0 new, 0 changed, 3 there already", again.Output.Trim());
        Assert.Equal("the whole business, observed: 3 times read, 3 new, 0 changed, 0 there already", business.Output.Trim());
        Assert.Equal((1, "there is no site 'Nowhere'; known: North Gate"), (unknown.Exit, unknown.Error.Trim()));
    }

    [Fact]
    public async Task A_forecast_says_when_it_was_made_or_takes_the_files_own_time()
    {
        var now = TimeProvider.System.GetUtcNow();
        var file = await FileAsync($"time_utc,air_celsius\n{now.AddHours(5):yyyy-MM-dd'T'HH}:00:00Z,33\n");
        File.SetLastWriteTimeUtc(file, new DateTime(now.Year, now.Month, now.Day, 0, 30, 0, DateTimeKind.Utc));

        var byFile = await RunAsync("import", "weather", file, "--forecast", Data);
        var older = await RunAsync("import", "weather", file, "--forecast", "--issued", $"{now.AddDays(-1):yyyy-MM-dd}T06:00:00Z", Data);
        var wrong = await RunAsync("import", "weather", file, "--forecast", "--issued", "06:00", Data);
        var observed = await RunAsync("import", "weather", file, Data);

        Assert.Equal($"the whole business, forecast of {now:yyyy-MM-dd}T00:30Z: 1 times read, 1 new, 0 changed, 0 there already", byFile.Output.Trim());
        Assert.Equal($"the whole business, forecast of {now.AddDays(-1):yyyy-MM-dd}T06:00Z: 1 times read, 0 new, 0 changed, 1 there already", older.Output.Trim());
        Assert.Equal((2, true), (wrong.Exit, wrong.Error.Contains("--issued is '06:00', expected a time with its zone", StringComparison.Ordinal)));
        Assert.Equal((1, true), (observed.Exit, observed.Error.Contains("say that it is a forecast", StringComparison.Ordinal)));
    }

    [Fact]
    public async Task A_bad_line_keeps_all_of_the_file_out()
    {
        var file = await FileAsync("time_utc,air_celsius,solar_wm2\n2025-07-14T17:00:00Z,32,800\n2025-07-14T18:00:00Z,32,8000\n");

        var (exit, output, error) = await RunAsync("import", "weather", file, Data);

        Assert.Equal((1, ""), (exit, output));
        Assert.Contains("line 3, column solar_wm2: '8000', expected a number from -20 to 2000 W/m² or an empty cell; mend the cell or empty it. Nothing was stored.", error, StringComparison.Ordinal);
        Assert.Contains("there is no file", (await RunAsync("import", "weather", "nowhere.csv", Data)).Error, StringComparison.Ordinal);
    }

    private async Task AddSpotAsync() => await RunAsync(
        "spot", "add", "north-gate-plaza", "--name", "A place", "--site", "North Gate", "--surface", "asphalt",
        "--latitude", "37.4", "--longitude", "-97", "--time-zone", "America/Chicago", Data);

    private async Task<string> FileAsync(string text)
    {
        var file = Path.Combine(_folder, "weather.csv");
        await File.WriteAllTextAsync(file, text, Cancel);
        return file;
    }

    private static async Task<(int Exit, string Output, string Error)> RunAsync(params string[] args)
    {
        using var output = new StringWriter();
        using var error = new StringWriter();
        var exit = await CommandLine.RunAsync(args, output, error);
        return (exit, output.ToString(), error.ToString());
    }
}
