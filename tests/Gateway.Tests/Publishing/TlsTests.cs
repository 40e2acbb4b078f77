using System.Net.Security;
using Microsoft.Extensions.Time.Testing;
using PavementWatch.Core.Readings;
using PavementWatch.Gateway.Publishing;
using PavementWatch.Gateway.Tests.Outbox;

namespace PavementWatch.Gateway.Tests.Publishing;

/// <summary>TLS to a real broker whose certificate the test's own authority signed.</summary>
public sealed class TlsTests : IDisposable
{
    private readonly TemporaryFolder _folder = new();
    private readonly TestAuthority _authority = new();

    public void Dispose()
    {
        _authority.Dispose();
        _folder.Dispose();
    }

    [Fact]
    public async Task Pinned_authority_is_enough()
    {
        using var certificate = _authority.Sign();
        await using var broker = await TestBroker.StartAsync(certificate);
        await using var gateway = Gateway(broker);
        gateway.Outbox.Append([Some.Reading(1)]);

        await gateway.StartAsync();

        await broker.UntilAsync(all => all.Readings.Count >= 1);
    }

    [Theory]
    [InlineData(true, "the authority between was signed by the pinned one")]
    [InlineData(false, "it was signed by a stranger of the same name")]
    public async Task Certificate_signed_by_an_authority_between_is_trusted_only_up_to_the_pinned_one(bool isOurs, string name)
    {
        Assert.NotEmpty(name);
        using var stranger = new TestAuthority();
        using var between = new TestAuthority("authority between", isOurs ? _authority : stranger);
        using var certificate = between.Sign();
        await using var peer = new ScriptedPeer
        {
            AnswersSignIn = true,
            Certificate = SslStreamCertificateContext.Create(certificate, [between.Certificate], offline: true),
        };
        await File.WriteAllTextAsync(_folder["authority.pem"], _authority.Pem, TestContext.Current.CancellationToken);
        var options = new PublishingOptions { BrokerHost = "localhost", BrokerPort = peer.Port, AuthorityFile = _folder["authority.pem"] };

        var trouble = await Record.ExceptionAsync(async () =>
        {
            await using var link = await MqttLink.ConnectAsync(options, GatewayId.Parse("quarry"), onSettings: null, TestContext.Current.CancellationToken);
        });

        if (isOurs)
            Assert.Null(trouble);
        else
            Assert.Contains("is not signed by the authority of the enrolment", Assert.IsType<LinkException>(trouble).Message, StringComparison.Ordinal);
    }

    [Fact]
    public async Task Certificate_of_another_authority_is_refused_and_no_password_goes_out()
    {
        using var stranger = new TestAuthority("somebody else");
        using var certificate = stranger.Sign();
        await using var broker = await TestBroker.StartAsync(certificate);
        await using var gateway = Gateway(broker);

        await gateway.StartAsync();

        await gateway.WarningAsync("the certificate of localhost is not signed by the authority of the enrolment");
        Assert.Empty(broker.Greetings);
    }

    [Fact]
    public async Task Certificate_for_another_name_is_refused()
    {
        using var certificate = _authority.Sign("other.example");
        await using var broker = await TestBroker.StartAsync(certificate);
        await using var gateway = Gateway(broker);

        await gateway.StartAsync();

        await gateway.WarningAsync("the certificate of localhost is made out to 'CN=other.example'; set Publishing:BrokerHost");
        Assert.Empty(broker.Greetings);
    }

    [Fact]
    public async Task Certificate_that_has_run_out_is_refused_and_the_clock_suspected_first()
    {
        using var certificate = _authority.Sign(from: TestAuthority.Now.AddDays(-30), to: TestAuthority.Now.AddDays(-2));
        await using var broker = await TestBroker.StartAsync(certificate);
        await using var gateway = Gateway(broker);

        await gateway.StartAsync();

        await gateway.WarningAsync("not now; look at this gateway's clock, then renew the certificate on the server");
        Assert.Empty(broker.Greetings);
    }

    private TestGateway Gateway(TestBroker broker)
    {
        File.WriteAllText(_folder["authority.pem"], _authority.Pem);
        return new TestGateway(
            _folder["."], broker.Port, new FakeTimeProvider(Some.Noon.AddDays(1)),
            ("Publishing:BrokerHost", "localhost"), ("Publishing:Tls", "true"),
            ("Publishing:AuthorityFile", _folder["authority.pem"]), ("Publishing:Password", "a secret"));
    }
}
