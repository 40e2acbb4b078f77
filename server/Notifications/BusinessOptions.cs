using System.ComponentModel.DataAnnotations;
using System.Net;
using System.Net.Mail;
using PavementWatch.Server.Faults;

namespace PavementWatch.Server.Notifications;

/// <summary>How the business hears of a warning that no walker's device has shown, and of faults of the service. Section <c>Notifications:Business</c>.</summary>
internal sealed class BusinessOptions : IValidatableObject
{
    /// <summary>How long a device has to show it. 30 s to 30 min inclusive; 2 min unless set.</summary>
    [Range(typeof(TimeSpan), "00:00:30", "00:30:00")]
    public TimeSpan After { get; init; } = TimeSpan.FromMinutes(2);

    /// <summary>How long a fault of the service stands before it is told, and is away before its end is. 10 s to 30 min inclusive; 1 min unless set.</summary>
    [Range(typeof(TimeSpan), "00:00:10", "00:30:00")]
    public TimeSpan FaultAfter { get; init; } = TimeSpan.FromMinutes(1);

    /// <summary>Address that gets it as JSON by POST; empty sends none. https, or http to this machine.</summary>
    public string WebhookUrl { get; init; } = "";

    /// <summary>File with the secret its receiver checks the signature with: <c>whsec_</c> and 24 to 64 bytes as base64. Without it the request is not signed.</summary>
    public string WebhookSecretFile { get; init; } = "";

    /// <summary>Mail server, by name; empty sends none.</summary>
    public string MailHost { get; init; } = "";

    /// <summary>Its port. 1 to 65535 inclusive; 587 unless set.</summary>
    [Range(1, 65535)]
    public int MailPort { get; init; } = 587;

    /// <summary>How the way to it is encrypted; by STARTTLS unless set.</summary>
    public MailEncryption MailEncryption { get; init; } = MailEncryption.StartTls;

    /// <summary>User to sign in as; empty signs in as nobody.</summary>
    public string MailUser { get; init; } = "";

    /// <summary>File with that user's password.</summary>
    public string MailPasswordFile { get; init; } = "";

    /// <summary>Sender.</summary>
    public string MailFrom { get; init; } = "";

    /// <summary>Receivers, with commas between.</summary>
    public string MailTo { get; init; } = "";

    /// <summary>The receivers, each by itself.</summary>
    public IReadOnlyList<string> Receivers => MailTo.Split(',', StringSplitOptions.TrimEntries | StringSplitOptions.RemoveEmptyEntries);

    /// <inheritdoc />
    public IEnumerable<ValidationResult> Validate(ValidationContext validationContext)
    {
        const string Section = "Notifications:Business:";
        if (WebhookUrl.Length > 0 && !(Uri.TryCreate(WebhookUrl, UriKind.Absolute, out var address)
            && (address.Scheme == Uri.UriSchemeHttps || address is { Scheme: "http", IsLoopback: true })))
        {
            yield return new ValidationResult($"{Section}WebhookUrl is '{ShownAddress.Of(WebhookUrl)}'; expected an https address", [nameof(WebhookUrl)]);
        }

        if (MailHost.Length == 0)
            yield break;
        if (!MailAddress.TryCreate(MailFrom, out _))
            yield return new ValidationResult($"{Section}MailFrom is '{MailFrom}'; expected an address such as alerts@walks.example", [nameof(MailFrom)]);
        if (Receivers.Count == 0)
            yield return new ValidationResult($"{Section}MailTo is empty; expected an address such as office@walks.example", [nameof(MailTo)]);
        foreach (var receiver in Receivers.Where(r => !MailAddress.TryCreate(r, out _)))
            yield return new ValidationResult($"{Section}MailTo holds '{receiver}'; expected an address such as office@walks.example", [nameof(MailTo)]);
        if (MailUser.Length > 0 && MailPasswordFile.Length == 0)
            yield return new ValidationResult($"{Section}MailUser is set and MailPasswordFile is not; expected the file with the password", [nameof(MailPasswordFile)]);
        if (MailEncryption == MailEncryption.None && !(MailHost == "localhost" || (IPAddress.TryParse(MailHost, out var host) && IPAddress.IsLoopback(host))))
            yield return new ValidationResult($"{Section}MailEncryption is None; to '{MailHost}' expected StartTls or Tls", [nameof(MailEncryption)]);
    }
}

/// <summary>How the way to a mail server is encrypted.</summary>
internal enum MailEncryption
{
    /// <summary>Asked for after the greeting (RFC 3207), and nothing is sent without it.</summary>
    StartTls = 0,

    /// <summary>From the first byte (RFC 8314).</summary>
    Tls,

    /// <summary>Not at all; to this machine only.</summary>
    None,
}
