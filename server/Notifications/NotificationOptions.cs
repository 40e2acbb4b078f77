using System.ComponentModel.DataAnnotations;
using Microsoft.Extensions.Options;

namespace PavementWatch.Server.Notifications;

/// <summary>Where pushes may go and how long they matter. Section <c>Notifications</c>.</summary>
internal sealed class NotificationOptions
{
    /// <summary>Whom a push service may write to about us: <c>mailto:</c> or an https address (RFC 8292, section 2.1). Set it to yours.</summary>
    [Required, RegularExpression("^(mailto:.+@.+|https://.+)$", ErrorMessage = "Notifications:Subject must be mailto:somebody@example.org or an https address")]
    public string Subject { get; set; } = "mailto:office@pavementwatch.example";

    /// <summary>Push services we send to; a name beginning with <c>*.</c> means any host under it. Others are refused, for the addresses come from browsers.</summary>
    public IList<string> AllowedHosts { get; init; } = [];

    /// <summary>Push services on this very machine, each as <c>http://127.0.0.1:port</c>; the demo and the tests need one, a business does not.</summary>
    public IList<string> LoopbackOrigins { get; init; } = [];

    /// <summary>How long an alert is news; after that it is not sent any more. 1 min to 4 h inclusive; 30 min unless set.</summary>
    [Range(typeof(TimeSpan), "00:01:00", "04:00:00")]
    public TimeSpan TimeToLive { get; set; } = TimeSpan.FromMinutes(30);

    /// <summary>Pause before the first retry; each further one is twice as long. 1 s to 10 min inclusive; 5 s unless set.</summary>
    [Range(typeof(TimeSpan), "00:00:01", "00:10:00")]
    public TimeSpan FirstRetry { get; set; } = TimeSpan.FromSeconds(5);

    /// <summary>Longest pause between retries. 1 s to 1 h inclusive; 5 min unless set.</summary>
    [Range(typeof(TimeSpan), "00:00:01", "01:00:00")]
    public TimeSpan LongestRetry { get; set; } = TimeSpan.FromMinutes(5);

    /// <summary>How the business hears of what no device has shown.</summary>
    [ValidateObjectMembers]
    public BusinessOptions Business { get; init; } = new();

    /// <summary>The pause before the next attempt.</summary>
    /// <param name="attempts">How many failed; 1 or more.</param>
    /// <param name="asked">What the receiver asked for, where it did.</param>
    public TimeSpan Pause(int attempts, TimeSpan? asked)
    {
        var own = FirstRetry * Math.Pow(2, Math.Min(attempts - 1, 16));
        if (own > LongestRetry)
            own = LongestRetry;
        return asked > own ? asked.Value : own;
    }
}

[OptionsValidator]
internal sealed partial class NotificationOptionsValidator : IValidateOptions<NotificationOptions>;
