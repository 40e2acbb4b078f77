using System.Globalization;
using System.Net;
using System.Text.Json;
using System.Text.RegularExpressions;
using Microsoft.Data.Sqlite;
using PavementWatch.Core.Readings;

namespace PavementWatch.EndToEnd.Tests.Soak;

/// <summary>Looks at API and page while a soak runs, and holds what they show against the newest live reading in the store.</summary>
/// <param name="store">The file of readings.</param>
/// <param name="spots">The spots.</param>
/// <param name="silentAfter">From this age on a reading says nothing of now.</param>
/// <param name="passed">The time passed, which nobody sets.</param>
/// <param name="madeAt">When a reading was made, by that time; <c>null</c> where it is not known.</param>
internal sealed partial class PageWatch(
    string store, IReadOnlyList<SpotId> spots, TimeSpan silentAfter, Func<TimeSpan> passed, Func<SpotId, DateTimeOffset, TimeSpan?> madeAt)
{
    /// <summary>A reading that came later than this is backlog, and history to the server.</summary>
    private static readonly TimeSpan Prompt = TimeSpan.FromMinutes(4);

    /// <summary>What passes between the answer and the page after it, which may fall silent meanwhile.</summary>
    private static readonly TimeSpan Between = TimeSpan.FromMinutes(5);

    /// <summary>From the commit to the card: the way of a reading through the watch, on a busy machine.</summary>
    private static readonly TimeSpan OnItsWay = TimeSpan.FromSeconds(2.5);

    private readonly Dictionary<(SpotId, DateTimeOffset), TimeSpan> _firstSeen = [];
    private readonly Queue<(DateTimeOffset Seen, Dictionary<SpotId, Row> Newest)> _seen = new();

    /// <summary>Cards that were held against a live reading.</summary>
    public int Compared { get; private set; }

    /// <summary>How often API and page answered to the walker.</summary>
    public int Answered { get; private set; }

    /// <summary>Each moment at which something was shown cooler than it was.</summary>
    public List<string> Cooler { get; } = [];

    /// <summary>Looks once.</summary>
    /// <param name="browser">A walker's.</param>
    /// <returns>Whether the server answered.</returns>
    public async Task<bool> LookAsync(HttpClient browser)
    {
        if (Newest() is not { } newest)
            return false;
        var now = TimeProvider.System.GetUtcNow();
        _seen.Enqueue((now, newest));
        if (_seen.Peek().Seen > now - OnItsWay)
            return true;
        while (_seen.Skip(1).FirstOrDefault() is { Newest: not null } next && next.Seen <= now - OnItsWay)
            _seen.Dequeue();
        var known = _seen.Peek().Newest;
        try
        {
            using var api = JsonDocument.Parse(await browser.GetStringAsync(new Uri("/api/spots", UriKind.Relative)));
            var page = WebUtility.HtmlDecode(await browser.GetStringAsync(new Uri("/", UriKind.Relative)));
            Answered++;
            if (Newest() is not { } after)
                return true;
            foreach (var spot in api.RootElement.EnumerateArray())
                Compare(spot, page, known, after);
            return true;
        }
        catch (Exception away) when (away is HttpRequestException or JsonException or IOException || (away is TaskCanceledException && !TestContext.Current.CancellationToken.IsCancellationRequested))
        {
            // The server was killed, or its disk is full and it says so instead of showing anything.
            return false;
        }
    }

    private void Compare(JsonElement spot, string page, Dictionary<SpotId, Row> known, Dictionary<SpotId, Row> after)
    {
        var id = SpotId.Parse(spot.GetProperty("id").GetString()!);
        var now = spot.GetProperty("now").GetDateTimeOffset();
        if (!known.TryGetValue(id, out var row) || !after.TryGetValue(id, out var later)
            || madeAt(id, row.MeasuredAt) is not { } made || passed() - made >= silentAfter - Between
            || _firstSeen[(id, row.MeasuredAt)] - made > Prompt || later.ReceivedAt < row.ReceivedAt)
            return;
        Compared++;
        // What came in meanwhile may be cooler, and may be shown.
        var least = Math.Min(row.SurfaceCelsius, later.SurfaceCelsius) - 0.05;
        var shown = spot.GetProperty("surfaceCelsius");
        var measured = spot.GetProperty("measuredAt");
        // A newer one that the store could not keep, or not yet, may be shown too.
        if (measured.ValueKind != JsonValueKind.Null && measured.GetDateTimeOffset() > row.MeasuredAt)
            return;
        if (shown.ValueKind == JsonValueKind.Number && shown.GetDouble() < least)
            Cooler.Add($"API {now:O} {id} {shown.GetDouble():F2} °C, measured {measured}; the store has {row}, then {later}");
        var card = page.IndexOf($"id=\"spot-{id}\"", StringComparison.Ordinal);
        var end = card < 0 ? -1 : page.IndexOf("</article>", card, StringComparison.Ordinal);
        // Shown to a tenth.
        if (end > card && Degrees().Match(page, card, end - card) is { Success: true } degrees
            && double.Parse(degrees.Groups[1].Value, CultureInfo.InvariantCulture) < least - 0.05)
            Cooler.Add($"page {now:O} {id} {degrees.Value}; the store has {row}, then {later}");
    }

    /// <summary>The good reading of each spot that came in last.</summary>
    private Dictionary<SpotId, Row>? Newest()
    {
        try
        {
            using var file = new SqliteConnection(new SqliteConnectionStringBuilder { DataSource = store, Mode = SqliteOpenMode.ReadWrite, Pooling = false, DefaultTimeout = 1 }.ToString());
            file.Open();
            var newest = new Dictionary<SpotId, Row>();
            foreach (var spot in spots)
            {
                using var command = file.CreateCommand();
                command.CommandText = "SELECT measured_at, received_at, surface_celsius FROM reading WHERE spot = $spot AND quality = 'good' AND surface_celsius IS NOT NULL ORDER BY measured_at DESC LIMIT 5";
                command.Parameters.AddWithValue("$spot", spot.Value);
                using var rows = command.ExecuteReader();
                while (rows.Read())
                {
                    var row = new Row(DateTimeOffset.FromUnixTimeMilliseconds(rows.GetInt64(0)), DateTimeOffset.FromUnixTimeMilliseconds(rows.GetInt64(1)), rows.GetDouble(2));
                    if (!newest.TryGetValue(spot, out var found) || row.ReceivedAt > found.ReceivedAt)
                        newest[spot] = row;
                    _firstSeen.TryAdd((spot, row.MeasuredAt), passed());
                }
            }

            return newest;
        }
        catch (SqliteException)
        {
            // The file is being made, or its disk is full.
            return null;
        }
    }

    [GeneratedRegex(@"data-part=""degrees"">[^<0-9−-]*(\d+(?:\.\d+)?) °C")]
    private static partial Regex Degrees();

    private sealed record Row(DateTimeOffset MeasuredAt, DateTimeOffset ReceivedAt, double SurfaceCelsius);
}
