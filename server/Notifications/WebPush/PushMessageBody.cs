using System.Buffers.Text;
using System.Security.Cryptography;
using System.Text;
using System.Text.Encodings.Web;
using System.Text.Json;
using System.Text.Json.Serialization;
using PavementWatch.Core.Alerts;
using PavementWatch.Core.Surfaces;

namespace PavementWatch.Server.Notifications.WebPush;

/// <summary>What a device is sent; the service worker reads it.</summary>
/// <param name="Id">The notification's name; the receipt carries it back.</param>
/// <param name="Spot">The spot.</param>
/// <param name="Title">First line.</param>
/// <param name="What">The first line without the spot's name; empty in a message of several spots.</param>
/// <param name="Body">What happened and why, in the unit of whose device it is.</param>
/// <param name="Side">Whether it is of heat or of cold.</param>
/// <param name="State">Where the alert stands now: <c>silent</c>, <c>clear</c>, <c>rising</c>, <c>tooHot</c> (of the cold <c>tooCold</c>) or <c>easing</c>.</param>
/// <param name="At">When it happened, UTC.</param>
/// <param name="Url">Page to open.</param>
/// <param name="Tag">A newer message of the same site takes the place of an older one on the screen.</param>
/// <param name="With">Names of further notifications that it tells, where it tells of several.</param>
/// <param name="Again">Names of notifications sent earlier and not known to be shown, which it tells again.</param>
/// <param name="IsRepeat">Whether it was sent before under the same name and is not known to be shown. A device that has shown it lets it take its own place, silently.</param>
internal sealed record PushMessageBody(
    Guid Id, string Spot, string Title, string What, string Body, AlertSide Side, string State, DateTimeOffset At, string Url, string Tag, IReadOnlyList<Guid>? With = null, IReadOnlyList<Guid>? Again = null,
    bool IsRepeat = false)
{
    /// <summary>[bytes] Most plain text that fits one record of 4096 bytes (RFC 8291, section 4).</summary>
    public const int MaxBytes = 3993;

    /// <summary>[bytes] What one of <see cref="With"/> or <see cref="Again"/> takes.</summary>
    public const int BytesOfName = 39;

    private static readonly JsonSerializerOptions Json = new(JsonSerializerDefaults.Web)
    {
        // No page holds it, and an escaped letter would take twice the room or three times.
        Encoder = JavaScriptEncoder.UnsafeRelaxedJsonEscaping,
        Converters = { new JsonStringEnumConverter(JsonNamingPolicy.CamelCase) },
    };

    /// <summary>Names of all that whoever shows it has seen.</summary>
    public IEnumerable<Guid> Told() => [Id, .. With ?? [], .. Again ?? []];

    public string ToJson() => JsonSerializer.Serialize(this, Json);

    /// <summary>[bytes] Its length as it is sent.</summary>
    public int Bytes() => Encoding.UTF8.GetByteCount(ToJson());

    /// <summary>The same where it fits; else without what it tells again, and with as much of its text as there is room for.</summary>
    /// <remarks>Who reads the beginning of a warning is warned. What it says it tells is kept: that is for the sender to bound.</remarks>
    public PushMessageBody Fitting()
    {
        if (Bytes() <= MaxBytes)
            return this;
        var brief = this with { Again = null };
        brief = brief with { Body = Cut(brief.Body, brief.Bytes() - MaxBytes) };
        brief = brief with { What = Cut(brief.What, brief.Bytes() - MaxBytes) };
        return brief with { Title = Cut(brief.Title, brief.Bytes() - MaxBytes) };
    }

    public static PushMessageBody Of(string json) => JsonSerializer.Deserialize<PushMessageBody>(json, Json)!;

    /// <summary>A text without so many bytes at its end, and with a sign that it was longer.</summary>
    private static string Cut(string text, int bytes)
    {
        if (bytes <= 0)
            return text;
        var end = text.Length;
        // The sign takes three.
        for (var left = bytes + 3; left > 0 && end > 0;)
        {
            var step = end > 1 && char.IsLowSurrogate(text[end - 1]) ? 2 : 1;
            left -= JsonEncodedText.Encode(text.AsSpan(end - step, step), Json.Encoder).EncodedUtf8Bytes.Length;
            end -= step;
        }

        return end == 0 ? "" : $"{text[..end].TrimEnd()}…";
    }

    /// <summary>The name of a state, as <see cref="State"/> has it.</summary>
    public static string StateOf(AlertState state, AlertSide side) =>
        (state, side) == (AlertState.TooHot, AlertSide.Cold) ? "tooCold" : JsonNamingPolicy.CamelCase.ConvertName(state.ToString());

    /// <summary>Tag of a spot's site, or of the spot where it has none.</summary>
    public static string TagOf(Spot spot) => spot.Site.Length > 0 ? $"site-{spot.Site}" : $"spot-{spot.Id}";

    /// <summary>Topic of a tag (RFC 8030, section 5.4): at most 32 base64url characters, and the push service learns nothing from it.</summary>
    public static string Topic(string tag) =>
        Base64Url.EncodeToString(SHA256.HashData(Encoding.UTF8.GetBytes(tag)).AsSpan(0, 24));
}
