using System.Globalization;
using System.Text.Json;

namespace PavementWatch.Server.Notifications;

/// <summary>What the business is told of a warning that no device has shown.</summary>
/// <param name="Event">The change's number.</param>
/// <param name="Spot">The spot.</param>
/// <param name="SpotName">The spot's name for people.</param>
/// <param name="Text">The warning as walkers read it, in °C and °F.</param>
/// <param name="At">When it was decided, UTC.</param>
/// <param name="Walkers">How many walkers it concerns.</param>
/// <param name="Devices">How many devices it was meant for.</param>
/// <param name="Sent">To how many of them a push service took it.</param>
/// <param name="Url">Page of the spot.</param>
internal sealed record BusinessNotice(
    int Event, string Spot, string SpotName, string Text, DateTimeOffset At, int Walkers, int Devices, int Sent, string Url)
{
    private static readonly JsonSerializerOptions Json = new(JsonSerializerDefaults.Web);

    /// <summary>One line.</summary>
    public string Subject => $"{SpotName}: no walker's phone has shown the warning";

    /// <summary>What it says and what to do.</summary>
    public string Body => string.Create(CultureInfo.InvariantCulture, $"""
        {Text}

        {(Walkers == 1 ? "One walker is" : $"{Walkers} walkers are")} concerned, and {Reason()}. Call them.

        {Url}
        """).ReplaceLineEndings("\r\n");

    public string ToJson() => JsonSerializer.Serialize(this, Json);

    public static BusinessNotice Of(string json) => JsonSerializer.Deserialize<BusinessNotice>(json, Json)!;

    private string Reason() => (Devices, Sent) switch
    {
        (0, _) => "none of their phones has alerts switched on",
        (_, 0) => "no push service has taken the warning",
        _ => "it was sent, but no phone has said that it showed it",
    };
}
