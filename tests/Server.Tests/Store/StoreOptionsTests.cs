using Microsoft.Extensions.Configuration;
using Microsoft.Extensions.DependencyInjection;
using Microsoft.Extensions.Hosting;
using Microsoft.Extensions.Options;
using PavementWatch.Server.Faults;
using PavementWatch.Server.Store;

namespace PavementWatch.Server.Tests.Store;

public sealed class StoreOptionsTests
{
    [Theory]
    [InlineData("a misspelt key", "Store:Pfad=x.db", "'Pfad'")]
    [InlineData("a kind that is none", "Store:Kind=oracle", "'oracle'")]
    [InlineData("no file", "Store:Path=", "Store:Path is empty; name the file")]
    [InlineData("a number out of range", "Store:QueuedBatches=0", "QueuedBatches must be between 1 and 100000")]
    [InlineData("influxdb without anything", "Store:Kind=influxdb", "Store:Url is ''; Store:Kind=influxdb expects an address")]
    [InlineData("influxdb without a token", "Store:Kind=influxdb Store:Url=http://h:8086 Store:Org=o Store:Bucket=b", "exactly one of them must be set")]
    [InlineData("influxdb with two tokens", "Store:Kind=influxdb Store:Url=http://h:8086 Store:Org=o Store:Bucket=b Store:Token=t Store:TokenFile=/f", "exactly one of them must be set")]
    [InlineData("a token file that is missing", "Store:Kind=influxdb Store:Url=http://h:8086 Store:Org=o Store:Bucket=b Store:TokenFile=/no/such", "'/no/such', which is not there")]
    public async Task Bad_settings_stop_the_start_with_the_key_and_the_remedy(string name, string settings, string message)
    {
        using var host = HostWith(settings);

        var failure = await Record.ExceptionAsync(() => host.StartAsync(TestContext.Current.CancellationToken));

        Assert.True(failure is OptionsValidationException or InvalidOperationException, $"{name}: {failure}");
        Assert.Contains(message, Whole(failure), StringComparison.Ordinal);
    }

    [Fact]
    public async Task Influxdb_by_configuration_gives_the_influxdb_store_with_the_token_of_the_file()
    {
        var file = Path.GetTempFileName();
        await File.WriteAllTextAsync(file, "secret\n", TestContext.Current.CancellationToken);
        using var host = HostWith($"Store:Kind=influxdb Store:Url=http://h:8086 Store:Org=o Store:Bucket=b Store:TokenFile={file}");

        Assert.IsType<InfluxReadingStore>(Assert.IsType<ReportingStore>(host.Services.GetRequiredService<IReadingStore>()).Inner);
        Assert.Equal("secret", host.Services.GetRequiredService<IOptions<StoreOptions>>().Value.ReadToken());
        File.Delete(file);
    }

    private static IHost HostWith(string settings)
    {
        var builder = Host.CreateEmptyApplicationBuilder(null);
        builder.Configuration.AddInMemoryCollection(settings.Split(' ').Select(setting => setting.Split('=', 2))
            .Select(pair => KeyValuePair.Create(pair[0], (string?)pair[1])));
        builder.Services.AddFaults().AddStore();
        return builder.Build();
    }

    private static string Whole(Exception? failure) => failure is null ? "" : failure.Message + "\n" + Whole(failure.InnerException);
}
