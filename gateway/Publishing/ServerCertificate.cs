using System.Net.Security;
using System.Security.Cryptography.X509Certificates;

namespace PavementWatch.Gateway.Publishing;

/// <summary>Whether the one at the other end of TLS is the server the gateway was enrolled with.</summary>
internal static class ServerCertificate
{
    /// <summary>Looks at a server's certificate with the authority pinned at enrolment.</summary>
    /// <param name="certificate">What the server showed.</param>
    /// <param name="sent">The chain as TLS built it: it holds the certificates between, which the server sent along.</param>
    /// <param name="errors">What TLS itself thinks of it.</param>
    /// <param name="authorities">The pinned authorities; empty trusts those of the system.</param>
    /// <param name="host">The host's name, for the message.</param>
    /// <returns><c>null</c> when it is to be trusted; otherwise what is wrong, with the remedy.</returns>
    public static string? Fault(X509Certificate? certificate, X509Chain? sent, SslPolicyErrors errors, X509Certificate2Collection authorities, string host)
    {
        if (certificate is null)
            return $"{host} shows no certificate; is a PavementWatch server behind this port?";
        if (errors.HasFlag(SslPolicyErrors.RemoteCertificateNameMismatch))
            return $"the certificate of {host} is made out to '{certificate.Subject}'; set Publishing:BrokerHost to a name it holds, or renew it with the server's right name";
        if (authorities.Count == 0)
            return errors == SslPolicyErrors.None ? null : $"no authority this machine knows signed the certificate of {host}; enrol again, which fetches the server's own";
        using var shown = new X509Certificate2(certificate);
        using var chain = new X509Chain();
        chain.ChainPolicy.TrustMode = X509ChainTrustMode.CustomRootTrust;
        chain.ChainPolicy.CustomTrustStore.AddRange(authorities);
        // An authority seldom signs a server's certificate itself; those between are trusted only where the chain ends at the authority.
        if (sent is not null)
        {
            chain.ChainPolicy.ExtraStore.AddRange(sent.ChainPolicy.ExtraStore);
            foreach (var between in sent.ChainElements)
                chain.ChainPolicy.ExtraStore.Add(between.Certificate);
        }
        chain.ChainPolicy.RevocationMode = X509RevocationMode.NoCheck;
        if (chain.Build(shown))
            return null;
        var why = string.Join(", ", chain.ChainStatus.Select(status => status.Status).Distinct());
        return chain.ChainStatus.Any(status => status.Status is X509ChainStatusFlags.NotTimeValid)
            ? $"the certificate of {host} is valid from {shown.NotBefore:u} to {shown.NotAfter:u}, not now; look at this gateway's clock, then renew the certificate on the server"
            : $"the certificate of {host} is not signed by the authority of the enrolment ({why}); if the server was set up anew, enrol again, else somebody is between the two";
    }

    /// <summary>The authorities of a PEM file; none for no file.</summary>
    /// <exception cref="System.Security.Cryptography.CryptographicException">The file holds no certificate.</exception>
    public static X509Certificate2Collection Authorities(string? file)
    {
        var authorities = new X509Certificate2Collection();
        if (file is { Length: > 0 })
            authorities.ImportFromPemFile(file);
        return authorities;
    }
}
