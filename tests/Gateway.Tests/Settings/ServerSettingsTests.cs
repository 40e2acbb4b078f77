using Microsoft.Extensions.DependencyInjection;
using Microsoft.Extensions.Time.Testing;
using PavementWatch.Core.Wire;
using PavementWatch.Gateway.Settings;
using PavementWatch.Gateway.Tests.Outbox;
using PavementWatch.Gateway.Tests.Publishing;
using PavementWatch.Tests;

namespace PavementWatch.Gateway.Tests.Settings;

/// <summary>Settings from afar: a real broker keeps the message, a real gateway takes it and says so in its status.</summary>
public sealed class ServerSettingsTests : IAsyncLifetime
{
    private const string Topic = "pavement/v1/quarry/settings";

    private readonly TemporaryFolder _folder = new();
    private readonly FakeTimeProvider _time = new(Some.Noon);
    private TestBroker _broker = null!;

    public async ValueTask InitializeAsync() => _broker = await TestBroker.StartAsync();

    public async ValueTask DisposeAsync()
    {
        await _broker.DisposeAsync();
        _folder.Dispose();
    }

    [Fact]
    public async Task Retained_settings_are_taken_acknowledged_and_kept_over_a_restart_without_network()
    {
        await _broker.PublishAsync(Topic, Set("v7", new SpotSettings { Surface = "asphalt", LimitCelsius = 46.5 }));
        await using (var gateway = Gateway())
        {
            await gateway.StartAsync();
            await UntilReportAsync(report => report.SettingsVersion == "v7");
            Assert.Equal(("asphalt", 46.5), InUse(gateway));
        }

        await _broker.StopAsync();
        await using var again = Gateway();
        Assert.Equal(("asphalt", 46.5), InUse(again));
    }

    [Fact]
    public async Task Estimates_beside_the_same_settings_are_heard_and_not_written_to_the_card()
    {
        var file = _folder["server-settings.json"];
        await _broker.PublishAsync(Topic, Set("v7", new SpotSettings { LimitCelsius = 46.5 }));
        await using var gateway = Gateway();
        await gateway.StartAsync();
        await UntilReportAsync(report => report.SettingsVersion == "v7");
        var kept = await File.ReadAllBytesAsync(file, TestContext.Current.CancellationToken);
        var settings = gateway.Services.GetRequiredService<ServerSettings>();
        Assert.Empty(settings.Estimates);

        var estimate = new SpotEstimate(51.5, 55.25, Some.Noon);
        var message = GatewaySettings.Read(Set("v7", new SpotSettings { LimitCelsius = 46.5 })) with
        {
            Estimates = new Dictionary<string, SpotEstimate> { ["quarry-steps"] = estimate },
        };
        await _broker.PublishAsync(Topic, message.Write());

        await Patience.UntilAsync(() => settings.Estimates.Count > 0, () => "the estimate is not heard");
        Assert.Equal(estimate, settings.Estimates["quarry-steps"]);
        Assert.Equal(46.5, settings.Spots["quarry-steps"].LimitCelsius);
        Assert.Equal(kept, await File.ReadAllBytesAsync(file, TestContext.Current.CancellationToken));
    }

    [Fact]
    public async Task Changed_limit_sends_a_reading_at_once_when_it_is_passed()
    {
        // The simulated surface is near 50 °C.
        await using var gateway = Gateway(("Spots:quarry-steps:LimitCelsius", "52"));
        await gateway.StartAsync();
        await UntilReportAsync(_ => true);
        await gateway.SampleAsync(_time, TimeSpan.FromSeconds(90));

        await _broker.PublishAsync(Topic, Set("v8", new SpotSettings { LimitCelsius = 45 }));
        await UntilReportAsync(report => report.SettingsVersion == "v8");
        await gateway.SampleAsync(_time, TimeSpan.FromSeconds(15));

        // Not on the minute: sent because the new limit is passed.
        await _broker.UntilAsync(broker => broker.Readings.Any(reading => reading.MeasuredAt.Second != 0));
    }

    [Theory]
    [InlineData("not json", "settings cannot be read")]
    [InlineData("{\"spots\":{}}", "version")]
    [InlineData("{\"version\":\"v9\",\"spots\":{\"quarry-steps\":{\"limitCelsius\":200}}}", "LimitCelsius must be between 30 and 52")]
    [InlineData("{\"version\":\"v9\",\"spots\":{\"quarry-steps\":{\"surface\":\"cheese\"}}}", "cheese")]
    public async Task Bad_settings_are_refused_in_the_status_and_the_last_good_ones_stay(string message, string fault)
    {
        await using var gateway = Gateway();
        await gateway.StartAsync();
        await _broker.PublishAsync(Topic, Set("v1", new SpotSettings { LimitCelsius = 44 }));
        await UntilReportAsync(report => report.SettingsVersion == "v1");

        await _broker.PublishAsync(Topic, System.Text.Encoding.UTF8.GetBytes(message));

        await UntilReportAsync(report => report.SettingsFault is not null);
        Assert.Equal(44, InUse(gateway).Limit);
        var report = await ReportAsync();
        Assert.Equal("v1", report!.SettingsVersion);
        Assert.Contains(fault, report.SettingsFault, StringComparison.Ordinal);
    }

    [Fact]
    public async Task Empty_message_brings_the_gateways_own_settings_back()
    {
        await using var gateway = Gateway();
        await gateway.StartAsync();
        await _broker.PublishAsync(Topic, Set("v1", new SpotSettings { LimitCelsius = 44 }));
        await UntilReportAsync(report => report.SettingsVersion == "v1");

        await _broker.PublishAsync(Topic, []);

        await UntilReportAsync(report => report.SettingsVersion is null);
        Assert.Equal(("concrete-pale", 49.0), InUse(gateway));
    }

    [Theory]
    [InlineData("/proc/self/mem", "its first byte gives a read error, as a worn card does")]
    [InlineData("/dev/full", "it is no file and has no end")]
    public async Task Kept_settings_that_cannot_be_read_are_told_and_stop_nothing(string target, string why)
    {
        Assert.NotEmpty(why);
        Assert.SkipUnless(File.Exists(target), $"there is no {target} here");
        File.CreateSymbolicLink(_folder["server-settings.json"], target);
        await using var gateway = Gateway();
        await gateway.StartAsync();

        await UntilReportAsync(report => report.SettingsFault?.Contains("server-settings.json cannot be read", StringComparison.Ordinal) == true);
        Assert.Equal(("concrete-pale", 49.0), InUse(gateway));

        // What the server sends replaces it.
        await _broker.PublishAsync(Topic, Set("v3", new SpotSettings { LimitCelsius = 44 }));
        await UntilReportAsync(report => report is { SettingsVersion: "v3", SettingsFault: null });
        Assert.Null(new FileInfo(_folder["server-settings.json"]).LinkTarget);
    }

    [Theory]
    [InlineData("asphalt", null, null, "other ground: the surface's own")]
    [InlineData("metal-grate", null, 0.28, "the ground it was given for")]
    [InlineData(null, null, 0.28, "the server names no ground")]
    [InlineData("asphalt", 0.95, 0.95, "the server's goes before any")]
    public async Task Own_emissivity_is_of_the_ground_it_was_given_for(string? surface, double? set, double? used, string why)
    {
        await using var gateway = Gateway(("Spots:quarry-steps:Surface", "metal-grate"), ("Spots:quarry-steps:EmissivityFraction", "0.28"));
        await gateway.StartAsync();

        await _broker.PublishAsync(Topic, Set("v2", new SpotSettings { Surface = surface, EmissivityFraction = set }));

        await UntilReportAsync(report => report.SettingsVersion == "v2");
        Assert.True(gateway.Services.GetRequiredService<ServerSettings>().Spots["quarry-steps"].EmissivityFraction == used, why);
        if (used is null)
            await gateway.WarningAsync("quarry-steps: the emissivity 0.28 in the gateway's own settings was given for 'metal-grate'; the server says 'asphalt', and 0.9");
        else
            Assert.DoesNotContain(gateway.Warnings, warning => warning.Contains("emissivity", StringComparison.Ordinal));
    }

    [Fact]
    public async Task Lowered_limit_that_the_card_does_not_take_is_told_and_tried_again_until_a_start_without_network_has_it()
    {
        await using (var gateway = Gateway())
        {
            await gateway.StartAsync();
            await _broker.PublishAsync(Topic, Set("v1", new SpotSettings { LimitCelsius = 49 }));
            await UntilReportAsync(report => report is { SettingsVersion: "v1", SettingsDiskFault: null });
            // A folder stands where the new file should be: unlike permissions, that stops the superuser too. The file may just be there.
            await Patience.UntilAsync(() => FolderStands(_folder["server-settings.json.new"]), () => "the file stays");

            await _broker.PublishAsync(Topic, Set("v2", new SpotSettings { LimitCelsius = 41 }));
            await UntilReportAsync(report => report.SettingsVersion == "v2"
                && report.SettingsDiskFault?.Contains("after a start without a network older ones are in use", StringComparison.Ordinal) == true);
            Assert.Equal(41, InUse(gateway).Limit);
            Assert.Contains("v1", await File.ReadAllTextAsync(_folder["server-settings.json"], TestContext.Current.CancellationToken), StringComparison.Ordinal);
            _time.Advance(TimeSpan.FromMinutes(1));
            Assert.NotNull(gateway.Services.GetRequiredService<ServerSettings>().DiskFault);

            Directory.Delete(_folder["server-settings.json.new"]);
            // The second pause is twice the first.
            _time.Advance(TimeSpan.FromMinutes(1));
            Assert.NotNull(gateway.Services.GetRequiredService<ServerSettings>().DiskFault);
            _time.Advance(TimeSpan.FromMinutes(1));
            await UntilReportAsync(report => report is { SettingsVersion: "v2", SettingsDiskFault: null });
        }

        await _broker.StopAsync();
        await using var again = Gateway();
        Assert.Equal(41, InUse(again).Limit);
    }

    [Fact]
    public async Task Spots_that_are_the_gateways_and_have_no_probe_are_named_in_the_status()
    {
        await using var gateway = Gateway();
        await gateway.StartAsync();
        await UntilReportAsync(report => report.SpotsWithoutProbe is null);

        await _broker.PublishAsync(Topic, new GatewaySettings
        {
            Version = "v2",
            Spots = new Dictionary<string, SpotSettings> { ["quarry-steps"] = new(), ["quarry-rim"] = new(), ["quarry-floor"] = new() },
        }.Write());

        await UntilReportAsync(report => report.SpotsWithoutProbe is ["quarry-floor", "quarry-rim"]);
    }

    [Fact]
    public async Task What_a_probe_sees_is_said_in_the_status_where_it_is_not_what_most_see()
    {
        await using var gateway = Gateway(
            ("Probes:steps-ir:BandMicrometers", "8-14"),
            ("Spots:quarry-rim:Surface", "asphalt"), ("Probes:rim:Kind", "Mlx90614"), ("Probes:rim:Address", "0x5B"), ("Probes:rim:Spot", "quarry-rim"), ("Probes:rim:BandMicrometers", "5.5-14"));
        await gateway.StartAsync();

        await UntilReportAsync(report => report.BandsMicrometers is { Count: 1 } bands && bands["quarry-steps"] == "8-14");
    }

    [Fact]
    public async Task Spots_the_gateway_does_not_watch_are_passed_over()
    {
        await using var gateway = Gateway();
        await gateway.StartAsync();

        await _broker.PublishAsync(Topic, "{\"version\":\"v2\",\"new\":1,\"spots\":{\"elsewhere\":{\"limitCelsius\":40}}}"u8.ToArray());

        await UntilReportAsync(report => report.SettingsVersion == "v2");
        Assert.Equal(("concrete-pale", 49.0), InUse(gateway));
    }

    private TestGateway Gateway(params (string, string)[] settings) => new(_folder["."], _broker.Port, _time, settings);

    private static byte[] Set(string version, SpotSettings spot) =>
        new GatewaySettings { Version = version, Spots = new Dictionary<string, SpotSettings> { ["quarry-steps"] = spot } }.Write();

    private static (string Surface, double Limit) InUse(TestGateway gateway)
    {
        var spot = gateway.Services.GetRequiredService<ServerSettings>().Spots["quarry-steps"];
        return (spot.Surface, spot.LimitCelsius);
    }

    private async Task<GatewayReport?> ReportAsync() =>
        await _broker.RetainedAsync("pavement/v1/quarry/status") is { } text ? GatewayReport.TryRead(System.Text.Encoding.UTF8.GetBytes(text)) : null;

    private async Task UntilReportAsync(Func<GatewayReport, bool> wanted)
    {
        GatewayReport? report = null;
        await Patience.UntilAsync(
            async () => (report = await ReportAsync()) is { State: GatewayReport.Online } && wanted(report),
            () => $"in vain; the status is {report}");
    }

    private static bool FolderStands(string path)
    {
        try
        {
            Directory.CreateDirectory(path);
            return true;
        }
        catch (IOException)
        {
            return false;
        }
    }
}
