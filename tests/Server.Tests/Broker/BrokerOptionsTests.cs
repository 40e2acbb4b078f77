using Microsoft.Extensions.Configuration;
using Microsoft.Extensions.DependencyInjection;
using Microsoft.Extensions.Options;
using PavementWatch.Server.Broker;

namespace PavementWatch.Server.Tests.Broker;

public sealed class BrokerOptionsTests
{
    [Theory]
    [InlineData("a misspelt key", "Broker:Prot=1883", "'Prot'")]
    [InlineData("a misspelt key further in", "Broker:Tls:CertFile=x", "'CertFile'")]
    [InlineData("a port that is none", "Broker:Port=70000", "Port must be between 0 and 65535")]
    [InlineData("a payload larger than a pack may be", "Broker:MaxPayloadBytes=1000000", "MaxPayloadBytes must be between 1024 and 262144")]
    [InlineData("open to the network without TLS", "Broker:Address=0.0.0.0", "without TLS expected a loopback address such as 127.0.0.1. For gateways elsewhere set Broker:Tls:Own=true and Broker:Tls:HostNames")]
    [InlineData("nothing to listen on", "Broker:Address=", "nothing to listen on")]
    [InlineData("a certificate that is missing", "Broker:Tls:CertificateFile=/no/such.pem", "'/no/such.pem', which is not there")]
    [InlineData("an own certificate for nobody", "Broker:Tls:Own=true", "Broker:Tls:HostNames is empty; expected the names or addresses by which gateways reach this server")]
    [InlineData("an own certificate for no name", "Broker:Tls:Own=true Broker:Tls:HostNames=walks.example,not/a/name", "HostNames holds 'not/a/name'")]
    [InlineData("two certificates", "Broker:Tls:Own=true Broker:Tls:HostNames=walks.example Broker:Tls:CertificateFile=x.pem", "keep one")]
    [InlineData("external without a host", "Broker:Kind=external", "Broker:External:Host is empty")]
    [InlineData("a share name with a slash", "Broker:Kind=external Broker:External:Host=h Broker:External:ShareName=a/b", "ShareName")]
    public void Bad_settings_are_named_with_what_was_expected(string name, string settings, string message)
    {
        var failure = Record.Exception(() => Read(settings));

        Assert.True(failure is OptionsValidationException or InvalidOperationException, $"{name}: {failure}");
        Assert.Contains(message, failure.Message, StringComparison.Ordinal);
    }

    [Theory]
    [InlineData("Broker:Address=127.0.0.1")]
    [InlineData("Broker:Address=::1 Broker:Port=0")]
    [InlineData("Broker:Kind=external Broker:External:Host=broker.example")]
    [InlineData("Broker:Address= Broker:Tls:Own=true Broker:Tls:HostNames=walks.example,192.168.1.20,2001:db8::7")]
    public void Good_settings_are_taken(string settings) => Read(settings);

    [Fact]
    public void Unset_it_is_the_embedded_broker_on_loopback_1883()
    {
        var options = Read("Broker:Kind=embedded");

        Assert.Equal((BrokerKind.Embedded, "127.0.0.1", 1883, 262_144), (options.Kind, options.Address, options.Port, options.MaxPayloadBytes));
        Assert.False(options.Tls.IsOn);
        // Who does not say who they are has ten seconds: a silent socket costs nothing, and a gateway speaks at once.
        Assert.Equal(TimeSpan.FromSeconds(10), options.ConnectPatience);
        Assert.Equal(200, options.MaxMessagesPerSecond);
    }

    private static BrokerOptions Read(string settings)
    {
        var configuration = new ConfigurationBuilder().AddInMemoryCollection(settings.Split(' ')
            .Select(setting => setting.Split('=', 2)).Select(pair => KeyValuePair.Create(pair[0], (string?)pair[1]))).Build();
        var services = new ServiceCollection().AddSingleton<IConfiguration>(configuration).AddBroker();
        using var provider = services.BuildServiceProvider();
        return provider.GetRequiredService<IOptions<BrokerOptions>>().Value;
    }
}
