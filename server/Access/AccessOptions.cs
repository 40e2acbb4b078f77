using System.ComponentModel.DataAnnotations;
using Microsoft.Extensions.Options;

namespace PavementWatch.Server.Access;

/// <summary>How long people stay signed in and how often they may ask. Section <c>Access</c>.</summary>
internal sealed class AccessOptions : IValidatableObject
{
    /// <summary>Address of the pages as people's phones know it, e.g. <c>https://walks.example</c>; empty takes the first of <c>Urls</c>.</summary>
    [RegularExpression("^(https?://.+)?$", ErrorMessage = "Access:PublicUrl must be an http or https address, or empty")]
    public string PublicUrl { get; set; } = "";

    /// <summary>How long a sign-in link works. 1 h to 90 days inclusive; 14 days unless set.</summary>
    [Range(typeof(TimeSpan), "01:00:00", "90.00:00:00")]
    public TimeSpan SignInLinkLife { get; set; } = TimeSpan.FromDays(14);

    /// <summary>How long somebody stays signed in without coming back. 1 h to 365 days inclusive; 30 days unless set.</summary>
    [Range(typeof(TimeSpan), "01:00:00", "365.00:00:00")]
    public TimeSpan SessionLife { get; set; } = TimeSpan.FromDays(30);

    /// <summary>Requests a minute from one person or, before they sign in, from one address. 10 to 100000; 1200 unless set.</summary>
    [Range(10, 100_000)]
    public int RequestsPerMinute { get; set; } = 1200;

    /// <summary>Failed tries a minute from one address to enter by a link, sign-in and set-up links, gateways' codes and passkeys each by themselves; more are told to wait. 1 to 10000; 30 unless set.</summary>
    [Range(1, 10_000)]
    public int EntriesPerMinute { get; set; } = 30;

    /// <summary>ForwardedAddresses before this server whose <c>X-Forwarded-For</c> and <c>X-Forwarded-Proto</c> are believed: addresses or networks such as <c>10.0.0.0/8</c>. None unless set.</summary>
    public IReadOnlyList<string> TrustedProxies { get; set; } = [];

    /// <inheritdoc />
    public IEnumerable<ValidationResult> Validate(ValidationContext validationContext)
    {
        if (TrustedProxies.FirstOrDefault(p => ForwardedAddresses.Network(p) is null) is { } unknown)
            yield return new ValidationResult($"Access:TrustedProxies names '{unknown}', expected an address such as 10.0.0.5 or a network such as 10.0.0.0/8", [nameof(TrustedProxies)]);
    }
}

[OptionsValidator]
internal sealed partial class AccessOptionsValidator : IValidateOptions<AccessOptions>;
