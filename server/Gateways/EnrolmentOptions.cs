using System.ComponentModel.DataAnnotations;
using Microsoft.Extensions.Options;

namespace PavementWatch.Server.Gateways;

/// <summary>What gateways are told at their enrolment, where it does not follow from section <c>Broker</c>. Section <c>Enrolment</c>.</summary>
internal sealed class EnrolmentOptions : IValidatableObject
{
    /// <summary>How long a code is good.</summary>
    public static readonly TimeSpan CodeLife = TimeSpan.FromMinutes(30);

    /// <summary>Name by which gateways reach the broker; empty takes the first of <c>Broker:Tls:HostNames</c>, or what else the broker's settings say.</summary>
    public string BrokerHost { get; init; } = "";

    /// <summary>Port by which they do, where a router changes it. 1 to 65535 inclusive; the broker's own unless set.</summary>
    [Range(1, 65535)]
    public int? BrokerPort { get; init; }

    /// <summary>PEM file of the authority that signed the broker's certificate; not needed with <c>Broker:Tls:Own</c>.</summary>
    public string AuthorityFile { get; init; } = "";

    /// <inheritdoc />
    public IEnumerable<ValidationResult> Validate(ValidationContext validationContext)
    {
        if (AuthorityFile.Length > 0 && !File.Exists(AuthorityFile))
            yield return new ValidationResult($"Enrolment:AuthorityFile is '{AuthorityFile}', which is not there or may not be read", [nameof(AuthorityFile)]);
    }
}

[OptionsValidator]
internal sealed partial class EnrolmentOptionsValidator : IValidateOptions<EnrolmentOptions>;
