using System.Net.Security;
using System.Security.Cryptography;
using System.Security.Cryptography.X509Certificates;
using System.Text;
using MQTTnet;
using MQTTnet.Protocol;
using PavementWatch.Core.Readings;
using PavementWatch.Core.Wire;
using PavementWatch.Server.Broker;
using PavementWatch.Server.Ingest;
using PavementWatch.Tests;
using static PavementWatch.Server.Tests.Broker.BrokerHost;

namespace PavementWatch.Server.Tests.Broker;

public sealed class EmbeddedBrokerTests
{
    private const string Online = """{"state":"online","version":"0.1.0"}""";

    private static CancellationToken Stop => TestContext.Current.CancellationToken;

    [Fact]
    public async Task Settings_left_for_a_gateway_are_read_when_it_connects_also_after_a_restart()
    {
        var folder = Directory.CreateTempSubdirectory("broker-").FullName;
        await using (var before = await StartAsync(new BrokerHost { Folder = folder, KeepFolder = true }))
            await before.Broker.PublishSettingsAsync(NorthGate, Encoding.UTF8.GetBytes("""{"limit":49}"""), Stop);

        await using var after = await StartAsync(new BrokerHost { Folder = folder });
        var client = await after.ConnectAsync(NorthGate);
        var read = new TaskCompletionSource<string>();
        client.ApplicationMessageReceivedAsync += message =>
        {
            read.TrySetResult(message.ApplicationMessage.ConvertPayloadToString());
            return Task.CompletedTask;
        };
        await client.SubscribeAsync(Topics.Settings(NorthGate), MqttQualityOfServiceLevel.AtLeastOnce, Stop);

        Assert.Equal("""{"limit":49}""", await read.Task.WaitAsync(Stop));
    }

    [Fact]
    public async Task A_damaged_file_of_retained_messages_is_set_aside_and_the_broker_starts()
    {
        var folder = Directory.CreateTempSubdirectory("broker-").FullName;
        await File.WriteAllTextAsync(Path.Combine(folder, "retained.json"), "[{\"Topic\":", Stop);

        await using var host = await StartAsync(new BrokerHost { Folder = folder });

        Assert.True(host.Broker.IsUp);
        Assert.True(File.Exists(Path.Combine(folder, "retained.json.damaged")));
        Assert.Contains("not a file of retained messages", await host.LoggedAsync("set aside"), StringComparison.Ordinal);
    }

    [Fact]
    public async Task The_status_board_follows_status_readings_and_the_will()
    {
        await using var host = await StartAsync();
        var board = host.Get<GatewayStatusBoard>();
        var client = await host.ConnectAsync(NorthGate, options => options.WithWillTopic(Topics.Status(NorthGate))
            .WithWillPayload(GatewayReport.Offline).WithWillRetain().WithWillQualityOfServiceLevel(MqttQualityOfServiceLevel.AtLeastOnce));
        await client.PublishAsync(Status(NorthGate, Online), Stop);

        Assert.Equal((true, host.Time.GetUtcNow(), "0.1.0"), Of(board.Find(NorthGate)));

        host.Time.Advance(TimeSpan.FromMinutes(1));
        await SendAsync(client, NorthGate, ReadingPack.Write([host.Now(Plaza, 40)]));
        var lastSeen = host.Time.GetUtcNow();
        Assert.Equal((true, lastSeen, "0.1.0"), Of(board.Find(NorthGate)));

        host.Time.Advance(TimeSpan.FromMinutes(1));
        client.Dispose(); // Without a DISCONNECT: the broker publishes the will.
        await Patience.UntilAsync(
            () => board.Find(NorthGate)?.Report?.State == "offline", () => $"the will did not come: {board.Find(NorthGate)}");

        Assert.Equal((false, lastSeen, null), Of(board.Find(NorthGate)));
    }

    [Fact]
    public async Task A_status_kept_over_a_restart_says_nothing_about_now()
    {
        var folder = Directory.CreateTempSubdirectory("broker-").FullName;
        await using (var before = await StartAsync(new BrokerHost { Folder = folder, KeepFolder = true }))
        {
            var client = await before.ConnectAsync(NorthGate);
            await client.PublishAsync(Status(NorthGate, Online), Stop);
        }

        await using var after = await StartAsync(new BrokerHost { Folder = folder });

        Assert.Equal((false, null, "0.1.0"), Of(Assert.Single(after.Get<GatewayStatusBoard>().All)));
    }

    [Theory]
    [InlineData("perhaps")]
    [InlineData("""{"state":"perhaps"}""")]
    [InlineData("""{"version":"0.1.0"}""")]
    [InlineData("")]
    public async Task A_status_that_is_none_is_refused_and_not_retained(string text)
    {
        await using var host = await StartAsync();
        var client = await host.ConnectAsync(NorthGate);

        var answer = await client.PublishAsync(Status(NorthGate, text), Stop);

        Assert.Equal(MqttClientPublishReasonCode.PayloadFormatInvalid, answer.ReasonCode);
        Assert.Equal(1, host.Count("malformed-status"));
        Assert.Null(host.Get<GatewayStatusBoard>().Find(NorthGate));
        Assert.False(File.Exists(Path.Combine(host.Folder, "retained.json")));
    }

    [Fact]
    public async Task A_gateways_check_beside_its_running_service_does_not_throw_it_out()
    {
        await using var host = await StartAsync();
        var service = await host.ConnectAsync(NorthGate);
        var check = await host.ConnectAsync(NorthGate, options => options.WithClientId("north-gate/check"));
        await SendAsync(service, NorthGate, ReadingPack.Write([host.Now(Plaza, 40)]));

        await check.DisconnectAsync(cancellationToken: Stop);
        await host.LoggedAsync("gateway north-gate disconnected");

        Assert.True((await SendAsync(service, NorthGate, ReadingPack.Write([host.Now(Plaza, 41, 1)]))).IsSuccess);
        Assert.True(host.Get<GatewayStatusBoard>().Find(NorthGate)!.Online);
    }

    [Fact]
    public async Task A_port_that_is_taken_is_named_with_the_remedy()
    {
        await using var first = await StartAsync();

        var failure = await Assert.ThrowsAsync<IOException>(
            () => BrokerHost.StartAsync(second => second.Settings["Broker:Port"] = first.Broker.Port.ToString()));

        Assert.Contains($"127.0.0.1:{first.Broker.Port}", failure.Message, StringComparison.Ordinal);
        Assert.Contains("set Broker:Port", failure.Message, StringComparison.Ordinal);
    }

    [Fact]
    public async Task With_a_certificate_gateways_connect_by_TLS_and_see_that_certificate()
    {
        var folder = Directory.CreateTempSubdirectory("broker-").FullName;
        using var key = ECDsa.Create(ECCurve.NamedCurves.nistP256);
        var request = new CertificateRequest("CN=broker.ferngate.example", key, HashAlgorithmName.SHA256);
        using var certificate = request.CreateSelfSigned(DateTimeOffset.UnixEpoch, new DateTimeOffset(2100, 1, 1, 0, 0, 0, TimeSpan.Zero));
        await File.WriteAllTextAsync(Path.Combine(folder, "broker.pem"), certificate.ExportCertificatePem(), Stop);
        await File.WriteAllTextAsync(Path.Combine(folder, "broker.key"), key.ExportPkcs8PrivateKeyPem(), Stop);
        var prepared = new BrokerHost { Folder = folder };
        prepared.Settings["Broker:Address"] = "";
        prepared.Settings["Broker:Tls:CertificateFile"] = Path.Combine(folder, "broker.pem");
        prepared.Settings["Broker:Tls:KeyFile"] = Path.Combine(folder, "broker.key");
        prepared.Settings["Broker:Tls:Address"] = "127.0.0.1";
        prepared.Settings["Broker:Tls:Port"] = "0";
        await using var host = await StartAsync(prepared);
        string? seen = null;

        var client = await host.ConnectAsync(NorthGate, options => options
            .WithTcpServer("127.0.0.1", host.Get<EmbeddedBroker>().TlsPort)
            .WithTlsOptions(tls => tls.UseTls().WithCertificateValidationHandler(validation =>
            {
                seen = ((X509Certificate2)validation.Certificate).Thumbprint;
                return validation.SslPolicyErrors != SslPolicyErrors.RemoteCertificateNotAvailable;
            })));

        Assert.Equal(certificate.Thumbprint, seen);
        Assert.True((await SendAsync(client, NorthGate, ReadingPack.Write([host.Now(Plaza, 40)]))).IsSuccess);
        Assert.Equal(0, host.Broker.Port);
    }

    private static (bool Online, DateTimeOffset? LastSeenAt, string? Version)? Of(GatewayStatus? status) =>
        status is null ? null : (status.Online, status.LastSeenAt, status.Report?.Version);

    private static MqttApplicationMessage Status(GatewayId gateway, string text) =>
        new MqttApplicationMessageBuilder().WithTopic(Topics.Status(gateway)).WithPayload(text).WithRetainFlag()
            .WithQualityOfServiceLevel(MqttQualityOfServiceLevel.AtLeastOnce).Build();
}
