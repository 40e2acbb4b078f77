using System.Security.Cryptography.X509Certificates;
using Microsoft.Extensions.Options;
using PavementWatch.Server.Broker;

namespace PavementWatch.Server.Gateways;

/// <summary>Where gateways find the broker and how they know it.</summary>
/// <param name="Host">Its name.</param>
/// <param name="Port">Its port.</param>
/// <param name="AuthorityPem">The authority to pin; empty without TLS.</param>
internal sealed record GatewayWay(string Host, int Port, string AuthorityPem);

/// <summary>Works out from the settings what gateways are told.</summary>
internal sealed class BrokerEndpoint(
    IOptions<EnrolmentOptions> enrolment, IOptions<BrokerOptions> broker, OwnAuthority own, EmbeddedBroker embedded)
{
    /// <summary>The way to the broker, or which setting is missing.</summary>
    public (GatewayWay? Way, string? Fault) Find()
    {
        var (options, told) = (broker.Value, enrolment.Value);
        var (host, port, tls) = options switch
        {
            { Kind: BrokerKind.External } => (options.External.Host, options.External.Port, options.External.Tls),
            { Tls.IsOn: true } => (options.Tls.Names is [var first, ..] ? first : "", embedded.TlsPort, true),
            _ => (options.Address, embedded.Port, false),
        };
        if (told.BrokerHost.Length > 0)
            host = told.BrokerHost;
        if (host.Length == 0)
            return (null, "gateways cannot be told where the broker is; set Enrolment:BrokerHost to the name they reach it by");
        var (pem, fault) = tls ? Authority(options, told) : ("", null);
        return fault is null ? (new GatewayWay(host, told.BrokerPort ?? port, pem), null) : (null, fault);
    }

    private (string Pem, string? Fault) Authority(BrokerOptions options, EnrolmentOptions told)
    {
        if (told.AuthorityFile.Length > 0)
            return (File.ReadAllText(told.AuthorityFile), null);
        if (options.Kind == BrokerKind.Embedded && options.Tls.Own)
            return (own.AuthorityPem, null);
        if (options.Kind == BrokerKind.Embedded)
        {
            var chain = new X509Certificate2Collection();
            chain.ImportFromPemFile(options.Tls.CertificateFile);
            if (chain.FirstOrDefault(one => one.SubjectName.RawData.AsSpan().SequenceEqual(one.IssuerName.RawData)) is { } root)
                return (root.ExportCertificatePem(), null);
        }

        return ("", "gateways cannot be told whom to trust; set Enrolment:AuthorityFile to the PEM file of the authority that signed the broker's certificate");
    }
}
