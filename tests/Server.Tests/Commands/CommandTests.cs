using System.Globalization;
using System.Net;
using System.Net.Sockets;
using System.Text.Json;
using System.Text.RegularExpressions;
using Microsoft.Data.Sqlite;
using PavementWatch.Server.Commands;
using PavementWatch.Tests;

namespace PavementWatch.Server.Tests.Commands;

/// <summary>Each verb as an operator types it: what it prints, and 0 done, 1 failed, 2 bad usage.</summary>
public sealed partial class CommandTests : IDisposable
{
    private readonly string _folder = Directory.CreateTempSubdirectory("pw-verbs-").FullName;

    private string Data => $"--Data:Folder={Path.Combine(_folder, "data")}";

    public void Dispose()
    {
        SqliteConnection.ClearAllPools();
        Directory.Delete(_folder, recursive: true);
    }

    [Theory]
    [InlineData(0, "--help", "backtest")]
    [InlineData(0, "serve --help", "--Section:Key=value")]
    [InlineData(0, "fit --help", "--spot")]
    [InlineData(0, "backtest --help", "--latitude")]
    [InlineData(0, "backtest --help", "air,humidity unless given")]
    [InlineData(0, "replay --help", "--time-zone <ZONE>")]
    [InlineData(0, "import readings --help", "time_utc")]
    [InlineData(0, "export readings --help", "--from")]
    [InlineData(0, "import checks --help", "time_local")]
    [InlineData(0, "export checks --help", "--out")]
    [InlineData(0, "import weather --help", "--forecast")]
    [InlineData(0, "backup --help", "restore")]
    [InlineData(0, "check-settings --help", "Starts nothing")]
    [InlineData(0, "tell-business --help", "trial notice")]
    [InlineData(1, "tell-business", "no way is set; expected Notifications:Business:MailHost")]
    [InlineData(1, "tell-business --Notifications:Business:WebhookUrl=http://127.0.0.1:9/alerts", "not sent: ConnectionError")]
    [InlineData(0, "user add --help", "--role")]
    [InlineData(0, "person --help", "erase")]
    [InlineData(0, "owner --help", "revoke")]
    [InlineData(0, "spot add --help", "--time-zone")]
    [InlineData(0, "gateway add --help", "--spots")]
    [InlineData(0, "spot edit --help", "leave the rest")]
    [InlineData(0, "spot remove --help", "brings it back")]
    [InlineData(0, "gateway edit --help", "its password stays")]
    [InlineData(0, "gateway remove --help", "signs in no more")]
    [InlineData(0, "demo --help", "--write-file")]
    [InlineData(2, "demo --write-file x.csv --spot nowhere", "--spot is 'nowhere', expected one of north-gate-plaza, orchard-green")]
    [InlineData(0, "demo --help", "summer, a hot July day; winter, a frosty January morning")]
    [InlineData(1, "demo --day Winter --write-file /proc/x/y.csv", "demo: ")]
    [InlineData(2, "demo --day spring", "--day is 'spring', expected summer or winter")]
    [InlineData(1, "demo --write-file /proc/x/y.csv", "demo: ")]
    [InlineData(2, "spot edit North_Gate", "spot: 'North_Gate' is not a name")]
    [InlineData(0, "gateway code --help", "good for 30 minutes")]
    [InlineData(2, "nonsense", "'nonsense' is neither a verb nor a setting")]
    [InlineData(2, "serve --port 5", "'--port' is neither a verb nor a setting")]
    [InlineData(2, "backtest", "FILE")]
    [InlineData(2, "backtest handbook scenes.csv", "WEATHER")]
    [InlineData(1, "backtest handbook nowhere.csv weather.csv --latitude 1 --longitude 0 --surface grass", "there is no file ")]
    [InlineData(2, "backtest x.csv --latitude 91 --longitude 0 --surface asphalt", "--latitude is '91', expected a number from -90 to 90")]
    [InlineData(2, "backtest x.csv --latitude 1 --longitude 0 --surface lava", "--surface is 'lava', expected one of asphalt")]
    [InlineData(2, "backtest x.csv --latitude 1 --longitude 0 --surface grass --from 1.6.1998", "--from is '1.6.1998', expected a day like 2026-07-14")]
    [InlineData(2, "backtest x.csv --latitude 1 --longitude 0 --surface grass --inputs moon", "--inputs is 'moon', expected air")]
    [InlineData(2, "backtest x.csv --latitude 1 --longitude 0 --surface grass --time-zone Ferngate", "--time-zone is 'Ferngate', expected an IANA name")]
    [InlineData(2, "replay x.csv --latitude 1 --longitude 181 --surface grass", "--longitude is '181', expected a number from -180 to 180")]
    [InlineData(1, "backtest nowhere.csv --latitude 1 --longitude 0 --surface grass", "there is no file ")]
    [InlineData(2, "user add Ines --role king", "--role is 'king', expected business, walker or analyst")]
    [InlineData(2, "gateway code North_Gate", "gateway: 'North_Gate' is not a name, expected 1 to 40 of a-z")]
    [InlineData(2, "gateway add North_Gate --spots plaza", "gateway: 'North_Gate' is not a name, expected 1 to 40 of a-z")]
    [InlineData(2, "gateway code north-gate --spots plaza,Mill_Bridge", "--spots: 'Mill_Bridge' is not a spot's name")]
    [InlineData(2, "gateway add north-gate --spots plaza,Mill_Bridge", "--spots: 'Mill_Bridge' is not a spot's name")]
    [InlineData(1, "check-settings --Stor:Kind=sqlite", "section 'Stor'")]
    [InlineData(1, "check-settings --Watch:Intervall=00:01:00", "Intervall")]
    [InlineData(1, "check-settings --Store:Kind=oracle", "Store:Kind is 'oracle', expected one of Sqlite,")]
    [InlineData(1, "check-settings --Watch:Interval=abc", "Watch:Interval is 'abc', expected a span such as 00:05:00")]
    [InlineData(1, "check-settings --Watch:SilentIntervals=1", "between 2 and 60")]
    [InlineData(1, "check-settings --Notifications:Subject=nobody", "Notifications:Subject must be")]
    [InlineData(1, "check-settings --Weather:ForecastUrl=forecast.example/ferngate.csv?key=a-key-nobody-may-read", "Weather:ForecastUrl is 'not an address', expected")]
    [InlineData(1, "check-settings --Notifications:Business:WebhookUrl=http://hooks.example/a-key-nobody-may-read", "WebhookUrl is 'http://hooks.example'; expected an https address")]
    [InlineData(1, "check-settings --Weather:ForecastUrl=ftp://forecast.example", "Weather:ForecastUrl is 'ftp://forecast.example', expected an address like https")]
    [InlineData(1, "check-settings --Weather:ForecastFiles=x", "ForecastFiles")]
    [InlineData(1, "check-settings --Weather:ForecastEvery=00:00:01", "between 00:00:10 and")]
    [InlineData(1, "check-settings --Broker:Address=0.0.0.0", "Broker:Address is '0.0.0.0'")]
    public async Task A_verb_answers_and_exits_as_it_says(int code, string line, string says)
    {
        var args = line.Split(' ');
        var (exit, output, error) = await RunAsync(line.StartsWith("check", StringComparison.Ordinal) ? [.. args, Data] : args);

        Assert.Contains(says, output + error, StringComparison.Ordinal);
        Assert.Equal(code, exit);
    }

    [Fact]
    public async Task Settings_in_order_are_said_to_be()
    {
        var (exit, output, error) = await RunAsync("check-settings", Data);

        Assert.Equal((0, ""), (exit, error));
        Assert.Contains("settings: in order", output, StringComparison.Ordinal);
    }

    [Theory]
    [InlineData("--Urls=http://127.0.0.1:{0}", "--Broker:Port=0", "Choose another address with --Urls")]
    [InlineData("--Urls=http://127.0.0.1:0", "--Broker:Port={0}", "set Broker:Port")]
    public async Task A_taken_port_is_named_with_its_remedy(string urls, string broker, string says)
    {
        using var taken = new TcpListener(IPAddress.Loopback, 0);
        taken.Start();
        var port = ((IPEndPoint)taken.LocalEndpoint).Port;

        var (exit, _, error) = await RunAsync(
            "serve", string.Format(CultureInfo.InvariantCulture, urls, port), string.Format(CultureInfo.InvariantCulture, broker, port),
            "--Logging:LogLevel:Default=None", Data);

        Assert.Contains(says, error, StringComparison.Ordinal);
        Assert.Equal(1, exit);
    }

    [Fact]
    public async Task Somebody_added_gets_a_link()
    {
        var (exit, output, _) = await RunAsync("user", "add", "Ines", "--role", "walker", Data, "--Access:PublicUrl=https://walks.example");

        Assert.Equal(0, exit);
        Assert.Matches(SignInLink(), output);
    }

    [Fact]
    public async Task A_spot_and_a_gateway_are_added_once_and_their_mistakes_are_named()
    {
        Assert.Equal(0, (await AddSpotAsync("north-gate-plaza")).Exit);
        var twice = await AddSpotAsync("north-gate-plaza");
        Assert.Equal((1, true), (twice.Exit, twice.Error.Contains("there is a spot 'north-gate-plaza' already", StringComparison.Ordinal)));
        var badName = await AddSpotAsync("North Gate");
        Assert.Equal((2, true), (badName.Exit, badName.Error.Contains("'North Gate' is not a name", StringComparison.Ordinal)));
        var badZone = await AddSpotAsync("other", zone: "Ferngate/Time");
        Assert.Equal((2, true), (badZone.Exit, badZone.Error.Contains("time zone is 'Ferngate/Time'", StringComparison.Ordinal)));

        var badSign = await AddSpotAsync("other", zone: "Asia/Shanghai");
        Assert.Equal((2, true), (badSign.Exit, badSign.Error.Contains("97.0 W is 9.5 h from Asia/Shanghai", StringComparison.Ordinal)));

        var gateway = await RunAsync("gateway", "add", "north-gate", "--spots", "north-gate-plaza", Data);
        Assert.Equal(0, gateway.Exit);
        Assert.Matches("password  [A-Za-z0-9_-]{32}", gateway.Output);
        var unknown = await RunAsync("gateway", "add", "north-gate", "--spots", "north-gate-plaza,nowhere", Data);
        Assert.Equal((1, true), (unknown.Exit, unknown.Error.Contains("there is no spot 'nowhere'", StringComparison.Ordinal)));
    }

    [Fact]
    public async Task Spots_and_gateways_are_listed_changed_and_removed()
    {
        await AddSpotAsync("north-gate-plaza");
        await AddSpotAsync("quarry-steps");
        await RunAsync("gateway", "add", "north-gate", "--spots", "north-gate-plaza", Data);

        var list = await RunAsync("spot", "list", Data);
        Assert.Contains("north-gate-plaza: ", list.Output, StringComparison.Ordinal);
        Assert.Contains("gateway north-gate", list.Output, StringComparison.Ordinal);
        Assert.Contains("no gateway: estimated", list.Output, StringComparison.Ordinal);

        var edited = await RunAsync("spot", "edit", "quarry-steps", "--limit", "45", "--name", "Quarry stairs", Data);
        Assert.Equal((0, true), (edited.Exit, edited.Output.Contains("Quarry stairs", StringComparison.Ordinal) && edited.Output.Contains("too hot from 45", StringComparison.Ordinal)));
        Assert.DoesNotContain("too cold", edited.Output, StringComparison.Ordinal);
        Assert.Contains("too cold at 4 °C (39 °F) and below", (await RunAsync("spot", "edit", "quarry-steps", "--cold-limit", "4", Data)).Output, StringComparison.Ordinal);
        Assert.Contains("too cold at 4 °C (39 °F) and below", (await RunAsync("spot", "list", Data)).Output, StringComparison.Ordinal);
        Assert.DoesNotContain("too cold", (await RunAsync("spot", "edit", "quarry-steps", "--no-cold-limit", Data)).Output, StringComparison.Ordinal);
        var wrong = await RunAsync("spot", "edit", "quarry-steps", "--longitude", "97", Data);
        Assert.Equal((1, true), (wrong.Exit, wrong.Error.Contains("is a minus sign missing?", StringComparison.Ordinal)));
        Assert.Equal(1, (await RunAsync("spot", "edit", "nowhere", "--limit", "45", Data)).Exit);

        Assert.Equal("north-gate: quarry-steps", (await RunAsync("gateway", "edit", "north-gate", "--spots", "quarry-steps", Data)).Output.Trim());
        var unknown = await RunAsync("gateway", "edit", "orchard", "--spots", "quarry-steps", Data);
        Assert.Equal((1, true), (unknown.Exit, unknown.Error.Contains("there is no gateway 'orchard'", StringComparison.Ordinal)));

        Assert.Equal(0, (await RunAsync("spot", "remove", "quarry-steps", Data)).Exit);
        Assert.Equal("north-gate: no spots", (await RunAsync("gateway", "list", Data)).Output.Trim());
        Assert.DoesNotContain("quarry", (await RunAsync("spot", "list", Data)).Output, StringComparison.Ordinal);
        Assert.Equal(1, (await RunAsync("spot", "remove", "quarry-steps", Data)).Exit);
        Assert.Equal(0, (await AddSpotAsync("quarry-steps")).Exit);

        Assert.Equal(0, (await RunAsync("gateway", "remove", "north-gate", Data)).Exit);
        Assert.Equal(1, (await RunAsync("gateway", "remove", "north-gate", Data)).Exit);
        Assert.Contains("no gateways yet", (await RunAsync("gateway", "list", Data)).Output, StringComparison.Ordinal);
    }

    [Fact]
    public async Task A_spot_that_one_gateway_has_is_taken_from_it_by_each_verb_that_gives_it_to_another_and_that_is_said()
    {
        await AddSpotAsync("plaza", name: "Plaza");
        await AddSpotAsync("steps", name: "Steps");
        Assert.DoesNotContain("belongs", (await RunAsync("gateway", "add", "north-gate", "--spots", "plaza,steps", Data)).Output, StringComparison.Ordinal);

        var added = await RunAsync("gateway", "add", "south-gate", "--spots", "plaza", Data);
        Assert.Contains("Plaza was on north-gate; it now belongs to south-gate.", added.Output, StringComparison.Ordinal);
        var edited = await RunAsync("gateway", "edit", "north-gate", "--spots", "plaza,steps", Data);
        Assert.Contains("Plaza was on south-gate; it now belongs to north-gate.", edited.Output, StringComparison.Ordinal);
        Assert.DoesNotContain("Steps was", edited.Output, StringComparison.Ordinal);
        var coded = await RunAsync("gateway", "code", "south-gate", "--spots", "steps", Data);
        Assert.Contains("Steps is on north-gate until this code is used; then it belongs to south-gate", coded.Output, StringComparison.Ordinal);

        var list = (await RunAsync("gateway", "list", Data)).Output;
        Assert.Contains("north-gate: plaza, steps\n", list.ReplaceLineEndings("\n"), StringComparison.Ordinal);
        Assert.Contains("south-gate: no spots\n", list.ReplaceLineEndings("\n"), StringComparison.Ordinal);
    }

    [Fact]
    public async Task A_code_is_printed_with_what_to_type_at_the_gateway()
    {
        await AddSpotAsync("north-gate-plaza");

        var code = await RunAsync("gateway", "code", "north-gate", "--spots", "north-gate-plaza", Data, "--Access:PublicUrl=https://walks.example");
        Assert.Equal((0, ""), (code.Exit, code.Error));
        Assert.Matches("sudo gateway enrol [0-9A-Z]{5}-[0-9A-Z]{5} --server https://walks.example", code.Output);
        var again = await RunAsync("gateway", "code", "north-gate", Data);
        Assert.Equal(0, again.Exit);
        Assert.Contains("is this machine only", again.Error, StringComparison.Ordinal);
        var unknown = await RunAsync("gateway", "code", "quarry", Data);
        Assert.Equal((1, true), (unknown.Exit, unknown.Error.Contains("gateway 'quarry' has no spots yet", StringComparison.Ordinal)));
        var badName = await RunAsync("gateway", "code", "North Gate", Data);
        Assert.Equal((2, true), (badName.Exit, badName.Error.Contains("'North Gate' is not a name", StringComparison.Ordinal)));
    }

    [Fact]
    public async Task What_is_exported_comes_back_the_same_and_a_backup_holds_it_all()
    {
        await AddSpotAsync("north-gate-plaza");
        var file = Path.Combine(_folder, "in.csv");
        await File.WriteAllLinesAsync(
            file,
            [
                "time_utc,surface_celsius,air_celsius,humidity_percent,sensor_celsius,light_lux,supply_volts,quality,doubt",
                "2026-07-14T17:00:00Z,51.25,35.1,31,41.2,98000,12.6,good,",
                "2026-07-14T17:01:00.5Z,51.5,35.2,,,,,good,",
                "2026-07-14T17:02:00Z,20,35.2,30,,,,suspect,Spike+Wet",
            ],
            TestContext.Current.CancellationToken);

        var import = await RunAsync("import", "readings", file, "--spot", "north-gate-plaza", Data);
        Assert.Equal((0, "north-gate-plaza: 3 readings read, 3 new, 0 there already"), (import.Exit, import.Output.Trim()));
        var again = await RunAsync("import", "readings", file, "--spot", "north-gate-plaza", Data);
        Assert.Equal("north-gate-plaza: 3 readings read, 0 new, 3 there already", again.Output.Trim());

        var export = await RunAsync("export", "readings", "--spot", "north-gate-plaza", Data);
        Assert.Equal(await File.ReadAllTextAsync(file, TestContext.Current.CancellationToken), export.Output);
        var none = await RunAsync("export", "readings", "--spot", "north-gate-plaza", "--to", "2026-07-13", Data);
        Assert.Single(none.Output.Trim().Split('\n'));

        var copy = Path.Combine(_folder, "copy");
        var backup = await RunAsync("backup", copy, Data);
        Assert.True(backup.Exit == 0, backup.Error);
        var restored = await RunAsync("export", "readings", "--spot", "north-gate-plaza", $"--Data:Folder={copy}");
        Assert.Equal(export.Output, restored.Output);
        var full = await RunAsync("backup", copy, Data);
        Assert.Equal((1, true), (full.Exit, full.Error.Contains("is not empty", StringComparison.Ordinal)));
    }

    [Fact]
    public async Task Checks_come_in_whole_or_not_at_all_and_go_out_as_they_came()
    {
        await AddSpotAsync("north-gate-plaza");
        var file = Path.Combine(_folder, "checks.csv");
        const string good = "spot,time_utc,surface_celsius,thermometer,emissivity,ground,note\nnorth-gate-plaza,2025-07-14T17:00:00Z,51.25,Handy 2,0.95,sun,\n";
        await File.WriteAllTextAsync(file, good, TestContext.Current.CancellationToken);

        var import = await RunAsync("import", "checks", file, Data);
        Assert.Equal((0, "1 checks read, 1 new, 0 there already"), (import.Exit, import.Output.Trim()));
        var again = await RunAsync("import", "checks", file, Data);
        Assert.Equal("1 checks read, 0 new, 1 there already", again.Output.Trim());
        var export = await RunAsync("export", "checks", Data);
        Assert.Equal(good, export.Output.ReplaceLineEndings("\n"));

        await File.AppendAllTextAsync(file, "north-gate-plaza,2025-07-14T17:05:00Z,1e3,,,,\n", TestContext.Current.CancellationToken);
        var bad = await RunAsync("import", "checks", file, Data);
        Assert.Equal((1, true), (bad.Exit, bad.Error.Contains("line 3, column surface_celsius: 1000 °C (1832 °F), expected -60 to 120 °C", StringComparison.Ordinal)));
        var unknown = await RunAsync("import", "checks", file, "--spot", "nowhere", Data);
        Assert.Equal((1, true), (unknown.Exit, unknown.Error.Contains("there is no spot 'nowhere'; known: north-gate-plaza", StringComparison.Ordinal)));
    }

    [Theory]
    [InlineData("time,surface_celsius\n", "line 1, column time_utc: no such column, expected a line like time_utc,surface_celsius")]
    [InlineData("time_utc,surface_celsius\n2026-07-14 17:00,50\n", "line 2, column time_utc: '2026-07-14 17:00', expected a time with its zone")]
    [InlineData("time_utc,surface_celsius\n2026-07-14T17:00:00Z,hot\n", "line 2, column surface_celsius: 'hot', expected a number")]
    [InlineData("time_utc,surface_celsius\n2026-07-14T17:00:00Z,900\n", "line 2, column surface_celsius: '900', expected a number from -60 to 120 °C or an empty cell; mend the cell or empty it. 0 readings before it are stored")]
    [InlineData("time_utc,surface_celsius\n2026-07-14T17:00:00Z,50,2\n", "line 2: 3 cells, expected 2")]
    [InlineData("time_utc,surface_celsius,quality\n2026-07-14T17:00:00Z,50,7\n", "line 2, column quality: '7', expected good")]
    [InlineData("", "line 1: an empty file")]
    [InlineData("time_utc,wetness\n", "line 1: none of the columns of readings")]
    [InlineData("spot,time_utc,surface_celsius\nnorth-gate-plaza,2026-07-14T17:00:00Z,50\nquarry-steps,2026-07-14T17:00:00Z,41\n", "line 3, column spot: 'quarry-steps', expected 'north-gate-plaza', whose readings these are to be")]
    public async Task A_file_that_cannot_be_read_is_refused_by_line_and_column(string text, string says)
    {
        await AddSpotAsync("north-gate-plaza");
        var file = Path.Combine(_folder, "bad.csv");
        await File.WriteAllTextAsync(file, text, TestContext.Current.CancellationToken);

        var (exit, _, error) = await RunAsync("import", "readings", file, "--spot", "north-gate-plaza", Data);

        Assert.Contains(says, error, StringComparison.Ordinal);
        Assert.Equal(1, exit);
    }

    [Fact]
    public async Task Fitting_tells_each_spot_and_an_unknown_one_is_named()
    {
        await AddSpotAsync("north-gate-plaza");
        await AddSpotAsync("quarry-steps");

        var all = await RunAsync("fit", Data);
        var unknown = await RunAsync("fit", "--spot", "nowhere", Data);

        Assert.Equal(0, all.Exit);
        Assert.Contains("[1/2] north-gate-plaza", all.Output, StringComparison.Ordinal);
        Assert.Contains("[2/2] quarry-steps", all.Output, StringComparison.Ordinal);
        Assert.Contains("in use, the first: from the handbook", all.Output, StringComparison.Ordinal);
        Assert.Equal(1, unknown.Exit);
        Assert.Contains("there is no spot 'nowhere', expected one of north-gate-plaza, quarry-steps", unknown.Error, StringComparison.Ordinal);
    }

    [Fact]
    public async Task A_backtest_prints_its_figures_as_a_table_and_as_json()
    {
        var file = SharedData.RequireFile("bondville-1998-half-hourly.csv");
        string[] args =
        [
            "backtest", file, "--latitude", "40.01", "--longitude", "-88.37", "--surface", "grass",
            "--from", "1998-06-01", "--to", "1998-06-08", "--inputs", "air,humidity",
        ];

        var table = await RunAsync(args);
        var json = await RunAsync([.. args, "--json"]);

        Assert.Equal((0, 0), (table.Exit, json.Exit));
        using var report = JsonDocument.Parse(json.Output);
        var all = report.RootElement.GetProperty("darkSensor").GetProperty("all");
        Assert.Equal(8 * 48, all.GetProperty("n").GetInt32()); // Eight days of half hours, by definition.
        Assert.Equal(
            ["darkSensor", "hourOfDayTable", "nowcast", "crossings", "hottestTenth"],
            report.RootElement.EnumerateObject().Select(p => p.Name));
        Assert.Contains(
            all.GetProperty("rmseKelvin").GetDouble().ToString("F2", CultureInfo.InvariantCulture),
            table.Output.Split('\n')[1], StringComparison.Ordinal);
        var hottest = report.RootElement.GetProperty("hottestTenth");
        Assert.Equal(39, hottest.GetProperty("n").GetInt32());
        Assert.Contains(
            $"in the tenth expected hottest it holds {hottest.GetProperty("coveragePercent").GetDouble().ToString("F1", CultureInfo.InvariantCulture)} %, {hottest.GetProperty("aboveUpperPercent").GetDouble().ToString("F1", CultureInfo.InvariantCulture)} % are over its upper end",
            table.Output, StringComparison.Ordinal);
        Assert.Contains("backtest: 100 % of the days", table.Error, StringComparison.Ordinal);
    }

    [Fact]
    public async Task The_handbook_is_held_against_scenes_as_a_table_and_as_json()
    {
        string[] args =
        [
            "backtest", "handbook", SharedData.RequireFile("phoenix-scenes-even-years.csv"), SharedData.RequireFile("phoenix-weather-even-years.csv"),
            "--kind", "concrete", "--surface", "concrete-grey", "--latitude", "33.5", "--longitude", "-112.0",
        ];

        var table = await RunAsync(args);
        var json = await RunAsync([.. args, "--limit", "60", "--json"]);

        Assert.Equal((0, 0), (table.Exit, json.Exit));
        using var report = JsonDocument.Parse(json.Output);
        var all = report.RootElement.GetProperty("all");
        Assert.Equal(439, all.GetProperty("n").GetInt32()); // Rows of that kind, counted in the file.
        Assert.InRange(report.RootElement.GetProperty("hot").GetProperty("n").GetInt32(), 1, 30);
        Assert.Contains(
            all.GetProperty("medianBiasKelvin").GetDouble().ToString("F1", CultureInfo.InvariantCulture), table.Output.Split('\n')[1], StringComparison.Ordinal);
        Assert.Contains("hot: at 49 °C (120 °F) and more", table.Output, StringComparison.Ordinal);
    }

    [Theory]
    [InlineData("--name", "North Gate\nplaza", "spot: name holds a line break or another control character, expected one line")]
    [InlineData("--site", "xxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxx", "spot: site has 81 characters, expected 1 to 80")]
    public async Task Names_that_no_page_could_show_are_refused_when_a_spot_is_added_and_when_it_is_edited(string option, string value, string message)
    {
        string[] spot = ["--name", "A place", "--surface", "asphalt", "--latitude", "37.4", "--longitude", "-97", "--time-zone", "America/Chicago", Data];
        var added = await RunAsync(["spot", "add", "north-gate-plaza", option, value, .. option == "--name" ? spot[2..] : spot]);
        Assert.Equal(2, added.Exit);
        Assert.Contains(message, added.Error, StringComparison.Ordinal);
        Assert.Contains("There are no spots yet", (await RunAsync("spot", "list", Data)).Output, StringComparison.Ordinal);

        await AddSpotAsync("north-gate-plaza");
        var edited = await RunAsync("spot", "edit", "north-gate-plaza", option, value, Data);
        Assert.Equal(1, edited.Exit);
        Assert.Contains(message, edited.Error, StringComparison.Ordinal);
        Assert.Contains("north-gate-plaza: A place, asphalt", (await RunAsync("spot", "list", Data)).Output, StringComparison.Ordinal);
    }

    [Theory]
    [InlineData("lava", "no row of kind 'lava' with a surface, expected at least one; the kinds there are: asphalt, sand")]
    [InlineData("sand", "1 of 1 scenes have no weather at their moment and were left out")]
    public async Task Scenes_that_cannot_be_judged_are_said(string kind, string message)
    {
        var scenes = Path.Combine(_folder, "scenes.csv");
        var weather = Path.Combine(_folder, "weather.csv");
        await File.WriteAllTextAsync(scenes, "time_utc,kind,surface_celsius\n2026-07-14T18:00:00Z,sand,50\n2026-07-14T18:00:00Z,asphalt,55\n", TestContext.Current.CancellationToken);
        await File.WriteAllTextAsync(weather, "time_utc,air_celsius\n2026-07-13T18:00:00Z,33\n", TestContext.Current.CancellationToken);

        var (exit, _, error) = await RunAsync("backtest", "handbook", scenes, weather, "--kind", kind, "--surface", "sand", "--latitude", "37.4", "--longitude", "-97");

        Assert.Equal(1, exit);
        Assert.Contains(message, error, StringComparison.Ordinal);
    }

    private async Task<(int Exit, string Output, string Error)> AddSpotAsync(string id, string zone = "America/Chicago", string name = "A place") =>
        await RunAsync(
            "spot", "add", id, "--name", name, "--surface", "asphalt", "--latitude", "37.4", "--longitude", "-97",
            "--time-zone", zone, Data);

    private static async Task<(int Exit, string Output, string Error)> RunAsync(params string[] args)
    {
        using var output = new StringWriter();
        using var error = new StringWriter();
        var exit = await CommandLine.RunAsync(args, output, error);
        return (exit, output.ToString(), error.ToString());
    }

    [GeneratedRegex("https://walks\\.example/enter/[A-Za-z0-9_-]{43}\\s*$")]
    private static partial Regex SignInLink();
}
