using System.Security.Cryptography.X509Certificates;
using Microsoft.Extensions.Logging.Abstractions;
using Microsoft.Extensions.Time.Testing;
using PavementWatch.Server.Broker;

namespace PavementWatch.Server.Tests.Broker;

public sealed class OwnAuthorityTests : IDisposable
{
    private readonly string _folder = Path.Combine(Directory.CreateTempSubdirectory("pw-tls-").FullName, "tls");
    private readonly FakeTimeProvider _time = new(TimeProvider.System.GetUtcNow());

    public void Dispose() => Directory.Delete(Path.GetDirectoryName(_folder)!, recursive: true);

    [Fact]
    public void Certificate_holds_every_name_and_the_authority_vouches_for_it()
    {
        var own = Open("walks.example", "192.168.1.20", "2001:db8::7");

        Assert.True(IsTrusted(own));
        Assert.True(own.Certificate.MatchesHostname("walks.example"));
        Assert.True(own.Certificate.MatchesHostname("192.168.1.20"));
        Assert.True(own.Certificate.MatchesHostname("2001:db8::7"));
        Assert.False(own.Certificate.MatchesHostname("other.example"));
        Assert.True(own.Certificate.HasPrivateKey);
    }

    [Fact]
    public void Only_the_server_may_read_its_keys()
    {
        _ = Open("walks.example").Context;

        if (OperatingSystem.IsWindows())
            return;
        Assert.Equal(UnixFileMode.UserRead | UnixFileMode.UserWrite | UnixFileMode.UserExecute, File.GetUnixFileMode(_folder));
        Assert.Equal(4, Directory.GetFiles(_folder).Length);
        foreach (var file in Directory.GetFiles(_folder))
            Assert.Equal(UnixFileMode.UserRead | UnixFileMode.UserWrite, File.GetUnixFileMode(file));
    }

    [Fact]
    public void Restart_changes_neither_authority_nor_certificate()
    {
        var (authority, certificate) = (Open("walks.example").AuthorityPem, Open("walks.example").Certificate.Thumbprint);

        Assert.Equal((authority, certificate), (Open("walks.example").AuthorityPem, Open("walks.example").Certificate.Thumbprint));
    }

    [Fact]
    public void Running_server_renews_its_certificate_before_the_end_and_the_authority_stays()
    {
        var own = Open("walks.example");
        var (authority, first, shown) = (own.AuthorityPem, own.Certificate.Thumbprint, own.Context);
        _time.Advance(OwnAuthority.CertificateLife - OwnAuthority.RenewedBefore - TimeSpan.FromHours(1));
        Assert.Equal(first, own.Certificate.Thumbprint);
        Assert.Same(shown, own.Context);

        _time.Advance(TimeSpan.FromHours(2));

        Assert.NotEqual(first, own.Certificate.Thumbprint);
        Assert.NotSame(shown, own.Context);
        Assert.True(own.Certificate.NotAfter > _time.GetUtcNow().AddDays(390));
        Assert.Equal(authority, own.AuthorityPem);
        Assert.True(IsTrusted(own));
    }

    [Fact]
    public void New_host_name_gets_a_new_certificate_of_the_same_authority()
    {
        var authority = Open("walks.example").AuthorityPem;

        var renamed = Open("walks.example", "10.0.0.2");

        Assert.True(renamed.Certificate.MatchesHostname("10.0.0.2"));
        Assert.Equal(authority, renamed.AuthorityPem);
        Assert.True(IsTrusted(renamed));
    }

    [Fact]
    public void Damaged_key_stops_the_start_with_the_remedy()
    {
        _ = Open("walks.example").Context;
        File.WriteAllText(Path.Combine(_folder, "authority.key"), "x");

        var failure = Assert.Throws<IOException>(() => Open("walks.example").Context);

        Assert.Contains("Restore both from a backup; or remove all of", failure.Message, StringComparison.Ordinal);
    }

    private OwnAuthority Open(params string[] names) => new(_folder, names, _time, NullLogger.Instance);

    private bool IsTrusted(OwnAuthority own)
    {
        using var chain = new X509Chain();
        chain.ChainPolicy.TrustMode = X509ChainTrustMode.CustomRootTrust;
        chain.ChainPolicy.CustomTrustStore.ImportFromPem(own.AuthorityPem);
        chain.ChainPolicy.RevocationMode = X509RevocationMode.NoCheck;
        chain.ChainPolicy.VerificationTime = _time.GetUtcNow().UtcDateTime;
        chain.ChainPolicy.ApplicationPolicy.Add(new System.Security.Cryptography.Oid("1.3.6.1.5.5.7.3.1"));
        return chain.Build(own.Certificate);
    }
}
