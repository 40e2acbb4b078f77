using Microsoft.Extensions.DependencyInjection;
using Microsoft.Extensions.Options;
using PavementWatch.Server.Hosting;
using PavementWatch.Server.Ingest;

namespace PavementWatch.Server.Tests.Commands;

public sealed class SettingsCheckTests
{
    [Fact]
    public async Task What_is_expected_of_gateways_can_be_set()
    {
        var folder = Directory.CreateTempSubdirectory("pw-settings-");
        await using (var app = ServerApp.Build(new ServerAppOptions { Args = ["--Ingest:ClockTolerance=00:05:00"], DataFolder = folder.FullName }))
            Assert.Equal(TimeSpan.FromMinutes(5), app.Services.GetRequiredService<IOptions<IngestOptions>>().Value.ClockTolerance);
        folder.Delete(recursive: true);
    }
}
