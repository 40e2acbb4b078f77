using Microsoft.Extensions.DependencyInjection;
using Microsoft.Extensions.Options;
using PavementWatch.Server.Commands;
using PavementWatch.Server.Gateways;
using PavementWatch.Server.Hosting;
using PavementWatch.Server.Ingest;

namespace PavementWatch.Server.Tests.Commands;

public sealed class SettingsCheckTests
{
    [Fact]
    public async Task What_is_expected_of_gateways_can_be_set()
    {
        var folder = Directory.CreateTempSubdirectory("pw-settings-");
        await using (var app = ServerApp.Build(new ServerAppOptions { Args = ["--Ingest:ClockTolerance=00:05:00", "--Gateways:OfflineAfter=00:20:00"], DataFolder = folder.FullName }))
        {
            Assert.Equal(TimeSpan.FromMinutes(5), app.Services.GetRequiredService<IOptions<IngestOptions>>().Value.ClockTolerance);
            var gateways = app.Services.GetRequiredService<IOptions<GatewayFaultOptions>>().Value;
            Assert.Equal((TimeSpan.FromMinutes(20), TimeSpan.FromHours(1)), (gateways.OfflineAfter, gateways.SilentAfter));
        }

        folder.Delete(recursive: true);
    }

    [Theory]
    [InlineData("two intervals", 120, "--Data:ProbeEvery=00:00:30")]
    [InlineData("two longer ones", 600, "--Watch:Interval=00:05:00")]
    [InlineData("as it is set", 180, "--Watch:Interval=00:05:00", "--Ingest:ClockTolerance=00:03:00")]
    [InlineData("no less than can be told", 10, "--Watch:Interval=00:00:01")]
    public async Task Clocks_may_differ_by_two_intervals_unless_it_is_set(string by, int seconds, params string[] settings)
    {
        var folder = Directory.CreateTempSubdirectory("pw-settings-");
        await using (var app = ServerApp.Build(new ServerAppOptions { Args = settings, DataFolder = folder.FullName }))
            Assert.Equal((by, TimeSpan.FromSeconds(seconds)), (by, app.Services.GetRequiredService<IOptions<IngestOptions>>().Value.ClockTolerance));

        folder.Delete(recursive: true);
    }

    [Fact]
    public async Task A_bad_setting_that_others_rest_on_is_named_once()
    {
        var folder = Directory.CreateTempSubdirectory("pw-settings-");
        using var said = new StringWriter();

        var exit = await CommandLine.RunAsync(["check-settings", "--Watch:Interval=02:00:00", $"--Data:Folder={folder.FullName}"], said, said);

        Assert.Equal(CommandLine.Failed, exit);
        Assert.Contains("Interval", Assert.Single(said.ToString().Split('\n'), line => line.StartsWith("settings: ", StringComparison.Ordinal)), StringComparison.Ordinal);
        folder.Delete(recursive: true);
    }

    [Theory]
    [InlineData("--Access:PublicUrl=ftp://walks.example", "settings: Access:PublicUrl must be an http or https address, or empty")]
    [InlineData("--Gateways:SilentAfter=00:01:00", "settings: ")]
    [InlineData("--Notifications:Business:WebhookUrl=ftp://walks.example", "settings: Notifications:Business:WebhookUrl is ")]
    public async Task A_bad_setting_is_named_once(string setting, string says)
    {
        var folder = Directory.CreateTempSubdirectory("pw-settings-");
        using var said = new StringWriter();

        var exit = await CommandLine.RunAsync(["check-settings", setting, $"--Data:Folder={folder.FullName}"], said, said);

        Assert.Equal(CommandLine.Failed, exit);
        Assert.StartsWith(says, said.ToString(), StringComparison.Ordinal);
        folder.Delete(recursive: true);
    }
}
