using System.Text;
using PavementWatch.Gateway.Commands;
using PavementWatch.Gateway.Tests.Publishing;
using PavementWatch.Tests;

namespace PavementWatch.Gateway.Tests.Commands;

/// <summary>The gateway's verbs as a person types them.</summary>
public sealed class CommandLineTests : IDisposable
{
    private readonly TemporaryFolder _folder = new();

    public void Dispose() => _folder.Dispose();

    [Theory]
    [InlineData("--help")]
    [InlineData("run --help")]
    [InlineData("check --help")]
    [InlineData("read --help")]
    [InlineData("enrol --help")]
    [InlineData("size --help")]
    [InlineData("calibrate --help")]
    public async Task Every_verb_has_help(string line)
    {
        var (code, output, error) = await RunAsync(line);

        Assert.Equal((0, ""), (code, error));
        Assert.Contains("Usage:", output, StringComparison.Ordinal);
    }

    [Fact]
    public async Task Simulated_probes_are_read()
    {
        var (code, output, _) = await RunAsync("read --simulate");

        Assert.Equal(0, code);
        Assert.Contains("plaza-ir (Mlx90614, simulated-plaza): surface ", output, StringComparison.Ordinal);
        Assert.Contains("air (Sht3x, all spots): air ", output, StringComparison.Ordinal);
    }

    [Fact]
    public async Task Probes_are_read_before_enrolment_and_what_is_not_set_is_said()
    {
        var (code, output, _) = await RunAsync("read --simulate --Gateway:Id= --Publishing:BrokerHost=");

        Assert.Equal(0, code);
        Assert.Contains("plaza-ir (Mlx90614, simulated-plaza): surface ", output, StringComparison.Ordinal);
        Assert.Contains("Not set yet, and needed before the gateway can run:\n", output, StringComparison.Ordinal);
        Assert.Contains("Gateway:Id: not set; enrol with 'enrol CODE --server URL'", output, StringComparison.Ordinal);
        Assert.Contains("Publishing:BrokerHost: not set; enrolment brings the server's name", output, StringComparison.Ordinal);
    }

    [Theory]
    [InlineData("read", "plaza-ir (Mlx90614, all spots): nothing, NoAnswer: probe plaza-ir, MLX90614: ")]
    [InlineData("calibrate --probe plaza-ir --thermometer plate", "--thermometer is 'plate', expected a probe of kind Ds18b20")]
    public async Task Probes_alone_in_the_settings_are_enough_for_the_bench(string line, string expected)
    {
        // No spots, no gateway's name, no server: what somebody has who has only wired a sensor. Bus 32 is on no machine.
        await File.WriteAllTextAsync(
            _folder["probes.json"], """{ "Probes": { "plaza-ir": { "Kind": "Mlx90614", "Bus": 32 } } }""", TestContext.Current.CancellationToken);

        var (_, output, error) = await RunAsync($"{line} --settings {_folder["probes.json"]}");

        Assert.Contains(expected, output + error, StringComparison.Ordinal);
        if (line == "read")
            Assert.Contains("Probes:plaza-ir:Spot is not set; a surface probe watches one of the names under Spots, where there is none yet", output, StringComparison.Ordinal);
    }

    [Fact]
    public async Task Simulated_gateway_passes_its_check_without_a_server()
    {
        var (code, output, _) = await RunAsync("check --simulate");

        Assert.Equal(0, code);
        Assert.Contains("ok   probe plaza-ir", output, StringComparison.Ordinal);
        Assert.Contains("ok   disk", output, StringComparison.Ordinal);
        Assert.Contains("-    server: not tried", output, StringComparison.Ordinal);
        Assert.EndsWith("all is well\n", output, StringComparison.Ordinal);
    }

    [Fact]
    public async Task Check_walks_the_way_to_a_real_broker()
    {
        await using var broker = await TestBroker.StartAsync();

        var (code, output, _) = await RunAsync($"check --simulate --Publishing:BrokerHost=127.0.0.1 --Publishing:BrokerPort={broker.Port}");

        Assert.Equal(0, code);
        foreach (var step in new[] { "ok   name 127.0.0.1", $"ok   port {broker.Port}", "look TLS: switched off", "ok   sign-in: as simulated", "ok   publish: acknowledged" })
            Assert.Contains(step, output, StringComparison.Ordinal);
        Assert.Null(await broker.RetainedAsync("pavement/v1/simulated/status"));
    }

    [Fact]
    public async Task Check_leaves_the_connection_and_the_status_of_a_gateway_that_runs_alone()
    {
        await using var broker = await TestBroker.StartAsync();
        await using var gateway = new TestGateway(_folder["running"], broker.Port, TimeProvider.System, ("Gateway:Id", "simulated"));
        await gateway.StartAsync();
        // It is retained a little after it has arrived.
        string? before = null;
        await Patience.UntilAsync(
            async () => (before = await broker.RetainedAsync("pavement/v1/simulated/status")) is not null, () => "no status");

        var (code, _, _) = await RunAsync($"check --simulate --Publishing:BrokerHost=127.0.0.1 --Publishing:BrokerPort={broker.Port}");

        Assert.Equal(0, code);
        Assert.Equal(before, await broker.RetainedAsync("pavement/v1/simulated/status"));
        Assert.Equal(["simulated", "simulated/check"], broker.Greetings.Select(greeting => greeting.ClientId));
    }

    [Fact]
    public async Task Check_without_a_broker_names_the_step_and_the_remedy()
    {
        var (code, output, _) = await RunAsync($"check --simulate --Publishing:BrokerHost=127.0.0.1 --Publishing:BrokerPort={TestBroker.FreePort()}");

        Assert.Equal(1, code);
        Assert.Contains("FAIL port", output, StringComparison.Ordinal);
        Assert.Contains("To do: is the server running", output, StringComparison.Ordinal);
        Assert.EndsWith("1 failed\n", output, StringComparison.Ordinal);
    }

    [Theory]
    [InlineData("chek", "'chek' is neither a verb nor a setting")]
    [InlineData("check", "Gateway:Id: not set; enrol with 'enrol CODE --server URL'")]
    [InlineData("check --settings nowhere.json", "there is no settings file 'nowhere.json'")]
    [InlineData("check --simulate --Publshing:BrokerHost=x", "there is no section 'Publshing' in the settings, expected one of Gateway, Publishing")]
    [InlineData("check --simulate --Publishing:BrokerHots=x", "Publishing: there is no setting 'BrokerHots', expected one of BrokerHost")]
    [InlineData("check --simulate --Publishing:KeepAlive=soon", "Publishing:KeepAlive is 'soon', expected a time span such as 00:01:30")]
    [InlineData("check --simulate --Publishing:KeepAlive=00:00:01", "Publishing:KeepAlive: KeepAlive must be between 00:00:05 and 00:20:00")]
    [InlineData("check --simulate --Publishing:BrokerHost=walks.example", "Tls is false and BrokerHost is 'walks.example', another machine: set Publishing:Tls to true")]
    [InlineData("check --simulate --Publishing:PasswordFile=/nowhere", "there is no file '/nowhere': run 'enrol' again")]
    [InlineData("check --simulate --Gateway:Id=North_Gate", "Gateway:Id: 'North_Gate', expected 1 to 40 of a-z")]
    [InlineData("check --simulate --Outbox:MaxMegabytes=0", "Outbox:MaxMegabytes: MaxMegabytes must be between 1 and 100000")]
    [InlineData("run --simulate --Spots:simulated-plaza:LimitCelsius=200", "Spots:simulated-plaza: The field LimitCelsius must be between 30 and 52")]
    [InlineData("run --simulate --Clock:Trust=Nobody", "Clock:Trust is 'Nobody', expected one of Network, System")]
    [InlineData("run --simulate --speed 0.5", "--speed must be 1 to 5000, e.g. --speed 600")]
    [InlineData("run --speed 600", "--speed, --from, --since and --mishaps go with --simulate; real probes live in real time")]
    [InlineData("run --mishaps", "--speed, --from, --since and --mishaps go with --simulate; real probes live in real time")]
    [InlineData("enrol ABCD-EFGH", "server is '', expected an address such as https://walks.example")]
    [InlineData("enrol ABCD-EFGH --server http://walks.example", "is not encrypted, and the password would travel in the open")]
    public async Task Bad_usage_names_the_key_and_the_remedy(string line, string expected)
    {
        var (code, _, error) = await RunAsync(line);

        Assert.Equal(2, code);
        Assert.Contains(expected, error, StringComparison.Ordinal);
        Assert.DoesNotContain("   at ", error, StringComparison.Ordinal);
    }

    [Fact]
    public async Task Settings_file_that_is_no_json_is_named()
    {
        await File.WriteAllTextAsync(_folder["odd.json"], "{ \"Gateway\": ", TestContext.Current.CancellationToken);

        var (code, _, error) = await RunAsync($"check --settings {_folder["odd.json"]}");

        Assert.Equal(2, code);
        Assert.Contains("odd.json", error, StringComparison.Ordinal);
    }

    private async Task<(int Code, string Output, string Error)> RunAsync(string line)
    {
        StringBuilder output = new(), error = new();
        await using StringWriter outputWriter = new(output), errorWriter = new(error);
        var code = await CommandLine.RunAsync([.. line.Split(' '), "--data", _folder["data"]], outputWriter, errorWriter);
        return (code, output.ToString(), error.ToString());
    }
}
