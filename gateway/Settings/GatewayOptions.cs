using System.ComponentModel.DataAnnotations;
using Microsoft.Extensions.Options;
using PavementWatch.Core.Readings;

namespace PavementWatch.Gateway.Settings;

/// <summary>Which gateway this is. Section <c>Gateway</c>.</summary>
public sealed class GatewayOptions : IValidatableObject
{
    /// <summary>The gateway's name, e.g. <c>north-gate</c>, as enrolment gave it. Required.</summary>
    public string Id { get; set; } = "";

    /// <summary>The name as a value.</summary>
    internal GatewayId GatewayId => GatewayId.Parse(Id);

    /// <inheritdoc />
    public IEnumerable<ValidationResult> Validate(ValidationContext validationContext)
    {
        if (!GatewayId.TryParse(Id, out _))
        {
            yield return new ValidationResult(
                Id.Length == 0
                    ? "not set; enrol with 'enrol CODE --server URL', or try without a server by --simulate"
                    : $"'{Id}', expected 1 to {SpotId.MaxLength} of a-z, 0-9 and '-', starting with a letter or digit",
                [nameof(Id)]);
        }
    }
}

[OptionsValidator]
internal sealed partial class GatewayOptionsValidator : IValidateOptions<GatewayOptions>;
