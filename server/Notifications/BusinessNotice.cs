using System.Globalization;
using System.Text.Json;
using System.Text.Json.Serialization;

namespace PavementWatch.Server.Notifications;

/// <summary>What the business is told, by whatever way.</summary>
/// <param name="At">When it happened, UTC.</param>
internal abstract record BusinessNotice(DateTimeOffset At)
{
    private static readonly JsonSerializerOptions Json = new(JsonSerializerDefaults.Web);

    /// <summary>Its kind, as programs read it.</summary>
    [JsonIgnore]
    public abstract string Type { get; }

    /// <summary>One line.</summary>
    public abstract string Subject { get; }

    /// <summary>What it says and what to do.</summary>
    public abstract string Body { get; }

    public string ToJson() => JsonSerializer.Serialize(this, GetType(), Json);

    /// <summary>The notice that waits in a row.</summary>
    public static BusinessNotice Of(BusinessNoticeRow row) => row.EventId is null
        ? JsonSerializer.Deserialize<FaultNotice>(row.Payload, Json)!
        : JsonSerializer.Deserialize<UnseenWarningNotice>(row.Payload, Json)!;

    protected static string Lines(FormattableString text) => text.ToString(CultureInfo.InvariantCulture).ReplaceLineEndings("\r\n");
}

/// <summary>A warning that no device has shown.</summary>
/// <param name="Event">The change's number; 0 while it is not written down.</param>
/// <param name="Spot">The spot.</param>
/// <param name="SpotName">The spot's name for people.</param>
/// <param name="Text">The warning as walkers read it, in °C and °F.</param>
/// <param name="At">When it was decided, UTC.</param>
/// <param name="Walkers">How many walkers it concerns; 0 when that could not be read.</param>
/// <param name="Devices">How many devices it was meant for.</param>
/// <param name="Sent">To how many of them a push service took it.</param>
/// <param name="Url">Page of the spot.</param>
internal sealed record UnseenWarningNotice(
    int Event, string Spot, string SpotName, string Text, DateTimeOffset At, int Walkers, int Devices, int Sent, string Url)
    : BusinessNotice(At)
{
    /// <summary>Whether it is of walkers whom the warning concerns only since it was told, as by a walk that begins soon.</summary>
    public bool CameLater { get; init; }

    public override string Type => "alert.unseen";

    public override string Subject => CameLater
        ? $"{SpotName}: {(Walkers == 1 ? "one more walker is" : $"{Walkers} more walkers are")} concerned, and no phone of theirs has shown the warning"
        : $"{SpotName}: no walker's phone has shown the warning";

    public override string Body => Lines($"""
        {Text}

        {Concerned()}. Call them.

        {Url}
        """);

    private string Concerned() => Walkers switch
    {
        0 => "Which walkers are concerned could not be read, and none of them was told",
        1 => $"One {(CameLater ? "more walker is concerned by now" : "walker is concerned")}, and {Reason()}",
        _ => $"{Walkers} {(CameLater ? "more walkers are concerned by now" : "walkers are concerned")}, and {Reason()}",
    };

    private string Reason() => (Devices, Sent) switch
    {
        (0, _) => "none of their phones has alerts switched on",
        (_, 0) => "no push service has taken the warning",
        _ => "it was sent, but no phone has said that it showed it",
    };
}

/// <summary>A fault of the service that stands, or that has ended.</summary>
/// <param name="Fault">The fault's name.</param>
/// <param name="Text">Where, what was found, what was expected, and the remedy.</param>
/// <param name="Since">When it began, UTC.</param>
/// <param name="EndedAt">When it ended, UTC; <c>null</c> while it stands.</param>
/// <param name="Url">Page that shows what stands.</param>
internal sealed record FaultNotice(string Fault, string Text, DateTimeOffset Since, DateTimeOffset? EndedAt, string Url)
    : BusinessNotice(EndedAt ?? Since)
{
    public override string Type => EndedAt is null ? "fault.raised" : "fault.ended";

    public override string Subject => EndedAt is null
        ? $"The service needs somebody: {Fault}"
        : $"Works again: {Fault}";

    public override string Body => EndedAt is { } ended
        ? Lines($"""
            From {Since:yyyy-MM-dd HH:mm} to {ended:yyyy-MM-dd HH:mm} UTC this was wrong, and it is no more:

            {Text}

            {Url}
            """)
        : Lines($"""
            Since {Since:yyyy-MM-dd HH:mm} UTC:

            {Text}

            Until it is mended, alerts may be late or missing. {Url}
            """);
}
