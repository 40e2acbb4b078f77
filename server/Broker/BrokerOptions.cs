using System.ComponentModel.DataAnnotations;
using System.Net;
using Microsoft.Extensions.Options;
using PavementWatch.Core.Wire;

namespace PavementWatch.Server.Broker;

/// <summary>Whose broker the gateways talk to.</summary>
internal enum BrokerKind
{
    /// <summary>The one inside this process.</summary>
    Embedded,

    /// <summary>Another MQTT 5 broker, to which the server connects as a client.</summary>
    External,
}

/// <summary>The meeting place of gateways and server. Section <c>Broker</c>.</summary>
internal sealed class BrokerOptions : IValidatableObject
{
    /// <summary><c>embedded</c> unless set, or <c>external</c>.</summary>
    public BrokerKind Kind { get; init; } = BrokerKind.Embedded;

    /// <summary>Address the embedded broker listens on without encryption; a loopback one. Empty listens with TLS only.</summary>
    public string Address { get; init; } = "127.0.0.1";

    /// <summary>Port of that. 0 to 65535 inclusive; 0 takes a free one; 1883 unless set.</summary>
    [Range(0, 65535)]
    public int Port { get; init; } = 1883;

    /// <summary>[B] Largest payload taken; a larger one is refused and the connection lives. 1 KiB to 256 KiB inclusive; 256 KiB unless set.</summary>
    [Range(1024, ReadingPack.MaxBytes)]
    public int MaxPayloadBytes { get; init; } = ReadingPack.MaxBytes;

    /// <summary>[B] Largest packet read at all; one announced larger ends its connection before it is read. 1 MiB to 64 MiB inclusive; 16 MiB unless set.</summary>
    [Range(1 << 20, 1 << 26)]
    public int MaxPacketBytes { get; init; } = 16 << 20;

    /// <summary>Connections held at once. 1 to 100 000 inclusive; 10 000 unless set.</summary>
    [Range(1, 100_000)]
    public int MaxConnections { get; init; } = 10_000;

    /// <summary>Connections of one address held at once; gateways behind one router share theirs. 1 to 100 000 inclusive; a quarter of <see cref="MaxConnections"/> unless set.</summary>
    [Range(1, 100_000)]
    public int? MaxConnectionsPerAddress { get; init; }

    /// <summary>How long a connection may take to say who it is, TLS included. 1 s to 1 min inclusive; 10 s unless set.</summary>
    [Range(typeof(TimeSpan), "00:00:01", "00:01:00")]
    public TimeSpan ConnectPatience { get; init; } = TimeSpan.FromSeconds(10);

    /// <summary>Messages a second of one gateway, and a hundred times as many at once; more are answered later. 10 to 100 000 inclusive; 200 unless set.</summary>
    [Range(10, 100_000)]
    public int MaxMessagesPerSecond { get; init; } = 200;

    /// <summary>File of retained messages; empty puts <c>retained.json</c> beside the readings (<c>Store:Path</c>).</summary>
    public string RetainedPath { get; init; } = "";

    /// <summary>TLS of the embedded broker; off unless it is to make its own certificate or one is named.</summary>
    [ValidateObjectMembers]
    public BrokerTlsOptions Tls { get; init; } = new();

    /// <summary>The other broker, with <c>Kind=external</c>.</summary>
    [ValidateObjectMembers]
    public ExternalBrokerOptions External { get; init; } = new();

    /// <inheritdoc />
    public IEnumerable<ValidationResult> Validate(ValidationContext validationContext)
    {
        if (Kind == BrokerKind.External)
        {
            if (External.Host.Length == 0)
                yield return new ValidationResult("Broker:External:Host is empty; Broker:Kind=external expects the other broker's name", [nameof(External)]);
            if (External.Password.Length > 0 && External.PasswordFile.Length > 0)
                yield return new ValidationResult("Broker:External:Password and PasswordFile are both set; keep one", [nameof(External)]);
            yield break;
        }

        if (Address.Length > 0 && (!IPAddress.TryParse(Address, out var address) || !IPAddress.IsLoopback(address)))
        {
            yield return new ValidationResult(
                $"Broker:Address is '{Address}'; without TLS expected a loopback address such as 127.0.0.1. "
                + "For gateways elsewhere set Broker:Tls:Own=true and Broker:Tls:HostNames, or Broker:Tls:CertificateFile and Broker:Tls:KeyFile",
                [nameof(Address)]);
        }

        if (Address.Length == 0 && !Tls.IsOn)
            yield return new ValidationResult("Broker:Address is empty and TLS is off; nothing to listen on; set Broker:Tls:Own or Broker:Tls:CertificateFile", [nameof(Address)]);
        if (Tls.Own && Tls.CertificateFile.Length > 0)
            yield return new ValidationResult("Broker:Tls:Own is true and Broker:Tls:CertificateFile is set; keep one", [nameof(Tls)]);
        if (Tls.Own && Tls.Names.Count == 0)
            yield return new ValidationResult("Broker:Tls:HostNames is empty; expected the names or addresses by which gateways reach this server, e.g. walks.example,192.168.1.20", [nameof(Tls)]);
        foreach (var name in Tls.Names.Where(name => Uri.CheckHostName(name) == UriHostNameType.Unknown))
            yield return new ValidationResult($"Broker:Tls:HostNames holds '{name}', expected a name or an address such as walks.example or 192.168.1.20", [nameof(Tls)]);
        if (Tls.IsOn && !IPAddress.TryParse(Tls.Address, out _))
            yield return new ValidationResult($"Broker:Tls:Address is '{Tls.Address}', expected an IP address such as 0.0.0.0", [nameof(Tls)]);
        foreach (var file in new[] { Tls.CertificateFile, Tls.KeyFile }.Where(file => file.Length > 0 && !File.Exists(file)))
            yield return new ValidationResult($"Broker:Tls names '{file}', which is not there or may not be read", [nameof(Tls)]);
    }
}

/// <summary>TLS of the embedded broker. Section <c>Broker:Tls</c>.</summary>
internal sealed class BrokerTlsOptions
{
    /// <summary>Whether the server makes its own authority and certificate, which gateways pin at enrolment; no unless set.</summary>
    public bool Own { get; init; }

    /// <summary>Names and addresses, joined by commas, by which gateways reach the server; the first is told at enrolment. Needed with <see cref="Own"/>.</summary>
    public string HostNames { get; init; } = "";

    /// <summary>Folder of the own authority; empty takes <c>tls</c> beside the readings (<c>Store:Path</c>).</summary>
    public string Folder { get; init; } = "";

    /// <summary>Certificate and its chain, PEM, in place of an own one.</summary>
    public string CertificateFile { get; init; } = "";

    /// <summary>Its private key, PEM; empty when the certificate's file holds it too.</summary>
    public string KeyFile { get; init; } = "";

    /// <summary>Address to listen on; all unless set.</summary>
    public string Address { get; init; } = "0.0.0.0";

    /// <summary>Port. 0 to 65535 inclusive; 8883 unless set.</summary>
    [Range(0, 65535)]
    public int Port { get; init; } = 8883;

    public bool IsOn => Own || CertificateFile.Length > 0;

    /// <summary>The host names one by one.</summary>
    public IReadOnlyList<string> Names => HostNames.Split(',', StringSplitOptions.TrimEntries | StringSplitOptions.RemoveEmptyEntries);
}

/// <summary>Another MQTT 5 broker. Section <c>Broker:External</c>.</summary>
internal sealed class ExternalBrokerOptions
{
    /// <summary>Its name or address.</summary>
    public string Host { get; init; } = "";

    /// <summary>Its port. 1 to 65535 inclusive; 8883 unless set.</summary>
    [Range(1, 65535)]
    public int Port { get; init; } = 8883;

    /// <summary>Whether to use TLS; yes unless set.</summary>
    public bool Tls { get; init; } = true;

    /// <summary>User to sign in as; empty signs in as nobody.</summary>
    public string User { get; init; } = "";

    /// <summary>Password. Better in <see cref="PasswordFile"/>.</summary>
    public string Password { get; init; } = "";

    /// <summary>File whose content is the password.</summary>
    public string PasswordFile { get; init; } = "";

    /// <summary>Client identifier; the other broker keeps this server's session, and what came while it was away, under it.</summary>
    [Required]
    public string ClientId { get; init; } = "pavementwatch-server";

    /// <summary>Name of the shared subscription; servers of one name share the readings among them.</summary>
    [Required, RegularExpression("^[^/+#]+$")]
    public string ShareName { get; init; } = "pavementwatch";

    /// <summary>How long the other broker keeps the session. 0 to 30 days inclusive; a day unless set.</summary>
    [Range(typeof(TimeSpan), "00:00:00", "30.00:00:00")]
    public TimeSpan SessionExpiry { get; init; } = TimeSpan.FromDays(1);

    /// <summary>Packs under way at once. 1 to 1000 inclusive; 64 unless set.</summary>
    [Range(1, 1000)]
    public int ReceiveMaximum { get; init; } = 64;

    /// <summary>Pause between attempts to connect or to store. 100 ms to 10 min inclusive; 5 s unless set.</summary>
    [Range(typeof(TimeSpan), "00:00:00.1", "00:10:00")]
    public TimeSpan RetryPause { get; init; } = TimeSpan.FromSeconds(5);

    /// <summary>The password, from wherever it is kept.</summary>
    public string ReadPassword() => PasswordFile.Length > 0 ? File.ReadAllText(PasswordFile).Trim() : Password;
}

[OptionsValidator]
internal sealed partial class BrokerOptionsValidator : IValidateOptions<BrokerOptions>;
