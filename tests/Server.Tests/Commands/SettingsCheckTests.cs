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
