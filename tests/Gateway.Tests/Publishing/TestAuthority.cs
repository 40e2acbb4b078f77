using System.Net;
using System.Security.Cryptography;
using System.Security.Cryptography.X509Certificates;

namespace PavementWatch.Gateway.Tests.Publishing;

/// <summary>An authority of a test's own that signs certificates, as a server does for itself.</summary>
internal sealed class TestAuthority : IDisposable
{
    private readonly ECDsa _key = ECDsa.Create(ECCurve.NamedCurves.nistP256);
    private readonly X509Certificate2 _certificate;

    public TestAuthority(string name = "Ferngate Walks authority")
    {
        var request = new CertificateRequest($"CN={name}", _key, HashAlgorithmName.SHA256);
        request.CertificateExtensions.Add(new X509BasicConstraintsExtension(true, false, 0, true));
        request.CertificateExtensions.Add(new X509KeyUsageExtension(X509KeyUsageFlags.KeyCertSign, true));
        _certificate = request.CreateSelfSigned(Now.AddYears(-5), Now.AddYears(10));
    }

    public string Pem => _certificate.ExportCertificatePem();

    /// <summary>Certificates are judged by physical time.</summary>
    public static DateTimeOffset Now => TimeProvider.System.GetUtcNow();

    public X509Certificate2 Sign(string name = "localhost", DateTimeOffset? from = null, DateTimeOffset? to = null)
    {
        using var key = ECDsa.Create(ECCurve.NamedCurves.nistP256);
        var request = new CertificateRequest($"CN={name}", key, HashAlgorithmName.SHA256);
        var names = new SubjectAlternativeNameBuilder();
        names.AddDnsName(name);
        if (name == "localhost")
            names.AddIpAddress(IPAddress.Loopback);
        request.CertificateExtensions.Add(names.Build());
        using var signed = request.Create(_certificate, from ?? Now.AddDays(-1), to ?? Now.AddYears(1), RandomNumberGenerator.GetBytes(8));
        // The server needs the key with the certificate, in a form every platform's TLS takes.
        return X509CertificateLoader.LoadPkcs12(signed.CopyWithPrivateKey(key).Export(X509ContentType.Pfx), null);
    }

    public void Dispose()
    {
        _certificate.Dispose();
        _key.Dispose();
    }
}
