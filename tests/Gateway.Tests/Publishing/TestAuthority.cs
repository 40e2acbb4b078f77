using System.Net;
using System.Security.Cryptography;
using System.Security.Cryptography.X509Certificates;

namespace PavementWatch.Gateway.Tests.Publishing;

/// <summary>An authority of a test's own that signs certificates, as a server does for itself.</summary>
internal sealed class TestAuthority : IDisposable
{
    private readonly ECDsa _key = ECDsa.Create(ECCurve.NamedCurves.nistP256);
    private readonly X509Certificate2 _certificate;

    /// <param name="name">Its name.</param>
    /// <param name="above">The authority that signed it; itself when <c>null</c>.</param>
    public TestAuthority(string name = "Ferngate Walks authority", TestAuthority? above = null)
    {
        var request = new CertificateRequest($"CN={name}", _key, HashAlgorithmName.SHA256);
        request.CertificateExtensions.Add(new X509BasicConstraintsExtension(true, above is null, above is null ? 1 : 0, true));
        request.CertificateExtensions.Add(new X509KeyUsageExtension(X509KeyUsageFlags.KeyCertSign, true));
        if (above is null)
        {
            _certificate = request.CreateSelfSigned(Now.AddYears(-5), Now.AddYears(10));
            return;
        }

        using var signed = request.Create(above._certificate, Now.AddYears(-1), Now.AddYears(5), RandomNumberGenerator.GetBytes(8));
        _certificate = signed.CopyWithPrivateKey(_key);
    }

    /// <summary>The certificate it signs with.</summary>
    public X509Certificate2 Certificate => _certificate;

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
