using System.ComponentModel.DataAnnotations;
using Microsoft.Extensions.Options;

namespace PavementWatch.Server.Access;

/// <summary>How long people stay signed in and how often they may ask. Section <c>Access</c>.</summary>
internal sealed class AccessOptions
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

    /// <summary>Tries a minute to enter by a link from one address. 1 to 10000; 30 unless set.</summary>
    [Range(1, 10_000)]
    public int EntriesPerMinute { get; set; } = 30;
}

[OptionsValidator]
internal sealed partial class AccessOptionsValidator : IValidateOptions<AccessOptions>;
