using System.ComponentModel.DataAnnotations;
using System.Net;
using Microsoft.Extensions.Options;

namespace PavementWatch.Gateway.Publishing;

/// <summary>Where the gateway publishes, as whom, and its patience. Section <c>Publishing</c>.</summary>
public sealed class PublishingOptions : IValidatableObject
{
    /// <summary>Broker host name or address. Required.</summary>
    [Required(ErrorMessage = "not set; enrolment brings the server's name")]
    public string BrokerHost { get; set; } = "";

    /// <summary>Broker port, 1 to 65535 inclusive; 8883 with TLS and 1883 without, unless set.</summary>
    [Range(1, 65535)]
    public int? BrokerPort { get; set; }

    /// <summary>User name; the gateway's name unless set.</summary>
    public string? User { get; set; }

    /// <summary>Password. Better given as <see cref="PasswordFile"/>.</summary>
    public string? Password { get; set; }

    /// <summary>File that holds the password, as enrolment writes it.</summary>
    public string? PasswordFile { get; set; }

    /// <summary>Whether to speak TLS; yes unless set.</summary>
    public bool Tls { get; set; } = true;

    /// <summary>PEM file of the authority that signs the server's certificate, as enrolment writes it; the system's own authorities unless set.</summary>
    public string? AuthorityFile { get; set; }

    /// <summary>Whether to go without TLS to another machine, where anyone on the way can read and write; no unless set.</summary>
    public bool AllowUnencrypted { get; set; }

    /// <summary>Pause after a first failure; it doubles with each more. 10 ms to 1 min inclusive; 1 s unless set.</summary>
    [Range(typeof(TimeSpan), "00:00:00.01", "00:01:00")]
    public TimeSpan FirstPause { get; set; } = TimeSpan.FromSeconds(1);

    /// <summary>Longest pause between attempts. 10 ms to 1 h inclusive; 5 min unless set.</summary>
    [Range(typeof(TimeSpan), "00:00:00.01", "01:00:00")]
    public TimeSpan LongestPause { get; set; } = TimeSpan.FromMinutes(5);

    /// <summary>How long an answer of the broker may take. 1 s to 5 min inclusive; 20 s unless set.</summary>
    [Range(typeof(TimeSpan), "00:00:01", "00:05:00")]
    public TimeSpan AnswerTimeout { get; set; } = TimeSpan.FromSeconds(20);

    /// <summary>Silence after which the two ask whether the other is there. 5 s to 20 min inclusive; 30 s unless set.</summary>
    [Range(typeof(TimeSpan), "00:00:05", "00:20:00")]
    public TimeSpan KeepAlive { get; set; } = TimeSpan.FromSeconds(30);

    /// <summary>How long the broker keeps our subscription while we are away. 0 to 30 days inclusive; 1 day unless set.</summary>
    [Range(typeof(TimeSpan), "00:00:00", "30.00:00:00")]
    public TimeSpan SessionExpiry { get; set; } = TimeSpan.FromDays(1);

    /// <summary>How often the status is sent anew. 10 s to 1 day inclusive; 10 min unless set.</summary>
    [Range(typeof(TimeSpan), "00:00:10", "1.00:00:00")]
    public TimeSpan StatusEvery { get; set; } = TimeSpan.FromMinutes(10);

    /// <summary>The port in use.</summary>
    internal int Port => BrokerPort ?? (Tls ? 8883 : 1883);

    /// <summary>The password in use; <c>null</c> when there is none.</summary>
    /// <exception cref="IOException">The file cannot be read.</exception>
    internal string? ReadPassword() => PasswordFile is { Length: > 0 } file ? File.ReadAllText(file).Trim() : Password;

    /// <inheritdoc />
    public IEnumerable<ValidationResult> Validate(ValidationContext validationContext)
    {
        if (!Tls && !AllowUnencrypted && BrokerHost.Length > 0 && !IsThisMachine(BrokerHost))
        {
            yield return new ValidationResult(
                $"Tls is false and BrokerHost is '{BrokerHost}', another machine: set Publishing:Tls to true, or, on a network nobody else is on, Publishing:AllowUnencrypted to true",
                [nameof(Tls)]);
        }
        if (LongestPause < FirstPause)
            yield return new ValidationResult($"LongestPause is {LongestPause}, expected at least FirstPause, {FirstPause}", [nameof(LongestPause)]);
        foreach (var file in new[] { PasswordFile, AuthorityFile }.OfType<string>().Where(file => file.Length > 0 && !File.Exists(file)))
            yield return new ValidationResult($"there is no file '{file}': run 'enrol' again, or mend the path", [file == PasswordFile ? nameof(PasswordFile) : nameof(AuthorityFile)]);
    }

    private static bool IsThisMachine(string host) =>
        host == "localhost" || (IPAddress.TryParse(host, out var address) && IPAddress.IsLoopback(address));
}

[OptionsValidator]
internal sealed partial class PublishingOptionsValidator : IValidateOptions<PublishingOptions>;
