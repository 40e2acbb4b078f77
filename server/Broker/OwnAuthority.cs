using System.Net;
using System.Net.Security;
using System.Security.Cryptography;
using System.Security.Cryptography.X509Certificates;

namespace PavementWatch.Server.Broker;

/// <summary>The server's own certificate authority and the broker's certificate under it, made when first needed and kept in a folder that only the server may read.</summary>
/// <remarks>
/// Gateways pin the authority at enrolment, so it stays, for twenty years; the certificate is renewed long before it
/// ends, or when the host names change, and no gateway notices. ECDSA on P-256; X.509 as RFC 5280 has it.
/// </remarks>
internal sealed class OwnAuthority(string folder, IReadOnlyList<string> hostNames, TimeProvider time, ILogger logger)
{
    /// <summary>How long the broker's certificate is good.</summary>
    public static readonly TimeSpan CertificateLife = TimeSpan.FromDays(397);

    /// <summary>How long before its end it is renewed.</summary>
    public static readonly TimeSpan RenewedBefore = TimeSpan.FromDays(90);

    private static readonly TimeSpan AuthorityLife = TimeSpan.FromDays(20 * 365);

    // A gateway's clock may be a little behind.
    private static readonly TimeSpan Earlier = TimeSpan.FromDays(1);

    private readonly Lock _lock = new();
    private X509Certificate2? _authority;
    private X509Certificate2? _certificate;
    private SslStreamCertificateContext? _context;

    /// <summary>Where it is kept.</summary>
    public string Folder => folder;

    /// <summary>The authority, PEM, as gateways pin it.</summary>
    public string AuthorityPem
    {
        get
        {
            lock (_lock)
                return Authority_NeedsLock().ExportCertificatePem();
        }
    }

    /// <summary>The certificate in use; renewed when it is due.</summary>
    public X509Certificate2 Certificate
    {
        get
        {
            lock (_lock)
                return Certificate_NeedsLock();
        }
    }

    /// <summary>The certificate in use as TLS takes it; asked for at each connection.</summary>
    public SslStreamCertificateContext Context
    {
        get
        {
            lock (_lock)
            {
                var certificate = Certificate_NeedsLock();
                return _context ??= SslStreamCertificateContext.Create(certificate, [Authority_NeedsLock()], offline: true);
            }
        }
    }

    private string AuthorityFile => Path.Combine(folder, "authority.pem");

    private string AuthorityKeyFile => Path.Combine(folder, "authority.key");

    private string CertificateFile => Path.Combine(folder, "broker.pem");

    private string CertificateKeyFile => Path.Combine(folder, "broker.key");

    private X509Certificate2 Authority_NeedsLock() =>
        _authority ??= File.Exists(AuthorityFile) || File.Exists(AuthorityKeyFile)
            ? Load(AuthorityFile, AuthorityKeyFile)
            : MakeAuthority();

    private X509Certificate2 Certificate_NeedsLock()
    {
        if (_certificate is null && File.Exists(CertificateFile) && File.Exists(CertificateKeyFile))
            _certificate = Load(CertificateFile, CertificateKeyFile);
        if (_certificate is not null && WhyRenew(_certificate) is not { })
            return _certificate;
        // One that is still shown to somebody is left to the garbage collector.
        _certificate = MakeCertificate(Authority_NeedsLock());
        _context = null;
        return _certificate;
    }

    private string? WhyRenew(X509Certificate2 certificate) =>
        new DateTimeOffset(certificate.NotAfter) - time.GetUtcNow() < RenewedBefore ? "it ends soon"
        : !NamesOf(certificate).SetEquals(hostNames.Select(Plain)) ? "the host names changed"
        : certificate.Issuer != Authority_NeedsLock().Subject || !IsSignedBy(certificate, Authority_NeedsLock()) ? "another authority signed it"
        : null;

    private X509Certificate2 MakeAuthority()
    {
        using var key = ECDsa.Create(ECCurve.NamedCurves.nistP256);
        // The number tells two installations of the same name apart.
        var request = new CertificateRequest(
            $"CN=PavementWatch authority {Convert.ToHexStringLower(RandomNumberGenerator.GetBytes(4))}", key, HashAlgorithmName.SHA256);
        request.CertificateExtensions.Add(new X509BasicConstraintsExtension(true, true, 0, true));
        request.CertificateExtensions.Add(new X509KeyUsageExtension(X509KeyUsageFlags.KeyCertSign | X509KeyUsageFlags.CrlSign, true));
        request.CertificateExtensions.Add(new X509SubjectKeyIdentifierExtension(request.PublicKey, false));
        var now = time.GetUtcNow();
        var made = request.CreateSelfSigned(now - Earlier, now + AuthorityLife);
        Keep(AuthorityKeyFile, key.ExportPkcs8PrivateKeyPem());
        Keep(AuthorityFile, made.ExportCertificatePem());
        Log.AuthorityMade(logger, folder);
        return made;
    }

    private X509Certificate2 MakeCertificate(X509Certificate2 authority)
    {
        using var key = ECDsa.Create(ECCurve.NamedCurves.nistP256);
        var request = new CertificateRequest($"CN={hostNames[0]}", key, HashAlgorithmName.SHA256);
        var names = new SubjectAlternativeNameBuilder();
        foreach (var name in hostNames)
        {
            if (IPAddress.TryParse(name, out var address))
                names.AddIpAddress(address);
            else
                names.AddDnsName(name);
        }

        request.CertificateExtensions.Add(names.Build());
        request.CertificateExtensions.Add(new X509BasicConstraintsExtension(false, false, 0, true));
        request.CertificateExtensions.Add(new X509KeyUsageExtension(X509KeyUsageFlags.DigitalSignature, true));
        request.CertificateExtensions.Add(new X509EnhancedKeyUsageExtension([new Oid("1.3.6.1.5.5.7.3.1", "serverAuth")], false));
        request.CertificateExtensions.Add(new X509SubjectKeyIdentifierExtension(request.PublicKey, false));
        request.CertificateExtensions.Add(X509AuthorityKeyIdentifierExtension.CreateFromCertificate(authority, true, false));
        var now = time.GetUtcNow();
        var serial = RandomNumberGenerator.GetBytes(16);
        serial[0] &= 0x7F;
        using var made = request.Create(authority, now - Earlier, now + CertificateLife, serial);
        Keep(CertificateKeyFile, key.ExportPkcs8PrivateKeyPem());
        Keep(CertificateFile, made.ExportCertificatePem());
        Log.CertificateMade(logger, hostNames[0], now + CertificateLife);
        return made.CopyWithPrivateKey(key);
    }

    private X509Certificate2 Load(string certificateFile, string keyFile)
    {
        try
        {
            return X509Certificate2.CreateFromPemFile(certificateFile, keyFile);
        }
        catch (Exception failure) when (failure is CryptographicException or FileNotFoundException)
        {
            throw new IOException(
                $"{certificateFile} and {keyFile} do not make a certificate with its key: {failure.Message} Restore both from a backup; "
                + $"or remove all of {folder}, after which every gateway must be enrolled again",
                failure);
        }
    }

    private void Keep(string path, string text)
    {
        var options = new FileStreamOptions { Mode = FileMode.Create, Access = FileAccess.Write };
        if (OperatingSystem.IsWindows())
        {
            Directory.CreateDirectory(folder);
        }
        else
        {
            Directory.CreateDirectory(folder, UnixFileMode.UserRead | UnixFileMode.UserWrite | UnixFileMode.UserExecute);
            options.UnixCreateMode = UnixFileMode.UserRead | UnixFileMode.UserWrite;
        }

        var next = path + ".next";
        File.Delete(next);
        using (var file = new StreamWriter(next, options))
        {
            file.Write(text);
            file.Flush();
            ((FileStream)file.BaseStream).Flush(flushToDisk: true);
        }

        File.Move(next, path, overwrite: true);
    }

    private static bool IsSignedBy(X509Certificate2 certificate, X509Certificate2 authority)
    {
        using var chain = new X509Chain();
        chain.ChainPolicy.TrustMode = X509ChainTrustMode.CustomRootTrust;
        chain.ChainPolicy.CustomTrustStore.Add(authority);
        chain.ChainPolicy.RevocationMode = X509RevocationMode.NoCheck;
        chain.ChainPolicy.VerificationFlags = X509VerificationFlags.IgnoreNotTimeValid;
        return chain.Build(certificate);
    }

    private static HashSet<string> NamesOf(X509Certificate2 certificate) =>
        certificate.Extensions.OfType<X509SubjectAlternativeNameExtension>().FirstOrDefault() is { } names
            ? [.. names.EnumerateDnsNames().Select(Plain), .. names.EnumerateIPAddresses().Select(a => a.ToString())]
            : [];

    private static string Plain(string name) =>
        IPAddress.TryParse(name, out var address) ? address.ToString() : name.ToLowerInvariant();
}
