using System.Diagnostics;
using System.Globalization;
using System.Net;
using System.Text.Json;
using System.Text.RegularExpressions;
using Microsoft.Data.Sqlite;
using PavementWatch.Core.Readings;

namespace PavementWatch.EndToEnd.Tests.Soak;

/// <summary>A spot whose card said for a while that it is estimated to be too hot.</summary>
/// <param name="Spot">Which.</param>
/// <param name="Since">Since when, by the server's clock.</param>
/// <param name="From">The same by the time passed.</param>
internal sealed record EstimatedTooHot(SpotId Spot, DateTimeOffset Since, TimeSpan From);

/// <summary>
/// Looks at API, page, and the day's curve and page of one spot after another while a soak runs, and holds what they show against
/// what the store has: the newest live reading, and the readings of the hour.
/// </summary>
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

    /// <summary>From the commit to the card: the way of a reading through the watch, where the machine is idle.</summary>
    private static readonly TimeSpan LeastOnItsWay = TimeSpan.FromSeconds(2.5);

    /// <summary>So long a card says that a spot is estimated too hot before somebody must have been told.</summary>
    private static readonly TimeSpan StandsEstimated = TimeSpan.FromMinutes(20);

    /// <summary>A server that did not answer for this long may have started anew.</summary>
    private static readonly TimeSpan Away = TimeSpan.FromMinutes(10);

    private static readonly TimeSpan Step = TimeSpan.FromMinutes(5);

    private readonly Dictionary<(SpotId, DateTimeOffset), TimeSpan> _firstSeen = [];
    private readonly Queue<(DateTimeOffset Seen, Dictionary<SpotId, Rows> Rows)> _seen = new();
    private readonly Dictionary<SpotId, (DateTimeOffset Since, TimeSpan From, TimeSpan Last, bool IsNoted)> _estimated = [];
    private int _looks;
    private TimeSpan _slowestAnswer;

    // Where answers take long, so does the watch: both wait for the same processors.
    private TimeSpan OnItsWay => LeastOnItsWay + (4 * _slowestAnswer);

    /// <summary>Cards that were held against a live reading.</summary>
    public int Compared { get; private set; }

    /// <summary>How often API and page answered to the walker.</summary>
    public int Answered { get; private set; }

    /// <summary>Steps of a day's curve that were held against the readings in the store.</summary>
    public int Steps { get; private set; }

    /// <summary>Each moment at which something was shown cooler than it was.</summary>
    public List<string> Cooler { get; } = [];

    /// <summary>Each moment at which the curve of a day was not what the store has.</summary>
    public List<string> OffCurve { get; } = [];

    /// <summary>Spells in which a card said that its spot is estimated too hot.</summary>
    public List<EstimatedTooHot> Estimated { get; } = [];

    /// <summary>When the server's clock was set, by the time passed: what is asked about then may be answered by either clock.</summary>
    public TimeSpan ClockSetAt { private get; set; } = -TimeSpan.FromDays(1);

    /// <summary>Until when the server may be unable to write down what it tells, by the time passed.</summary>
    public TimeSpan UnwrittenUntil { private get; set; }

    /// <summary>Looks once.</summary>
    /// <param name="browser">A walker's.</param>
    /// <returns>Whether the server answered.</returns>
    public async Task<bool> LookAsync(HttpClient browser)
    {
        if (Stored() is not { } rows)
            return false;
        var now = TimeProvider.System.GetUtcNow();
        _seen.Enqueue((now, rows));
        if (_seen.Peek().Seen > now - OnItsWay)
            return true;
        while (_seen.Skip(1).FirstOrDefault() is { Rows: not null } next && next.Seen <= now - OnItsWay)
            _seen.Dequeue();
        var known = _seen.Peek().Rows;
        var began = passed();
        try
        {
            using var api = JsonDocument.Parse(await GetAsync(browser, "/api/spots"));
            var page = WebUtility.HtmlDecode(await GetAsync(browser, "/"));
            using var then = JsonDocument.Parse(await GetAsync(browser, "/api/spots"));
            Answered++;
            if (Stored() is not { } after)
                return true;
            // At once: soon the reading that is known says nothing of now.
            foreach (var spot in api.RootElement.EnumerateArray())
            {
                NoteEstimate(spot);
                Compare(spot, "page", page, known, after, then.RootElement);
            }

            await LookAtDayAsync(browser, api.RootElement, began, known);
            return true;
        }
        catch (Exception away) when (away is HttpRequestException or JsonException or IOException || (away is TaskCanceledException && !TestContext.Current.CancellationToken.IsCancellationRequested))
        {
            // The server was killed, or its disk is full and it says so instead of showing anything.
            return false;
        }
    }

    /// <summary>An answer; meanwhile what comes into the store is noted as soon as it is there.</summary>
    private async Task<string> GetAsync(HttpClient browser, string path)
    {
        var asked = Stopwatch.StartNew();
        var answer = browser.GetStringAsync(new Uri(path, UriKind.Relative));
        while (await Task.WhenAny(answer, Task.Delay(TimeSpan.FromMilliseconds(100), TimeProvider.System, CancellationToken.None)) != answer)
            Stored();
        // Of the last looks: a busy spell ends some time.
        _slowestAnswer = new[] { asked.Elapsed, 0.95 * _slowestAnswer }.Max();
        return await answer;
    }

    private async Task LookAtDayAsync(HttpClient browser, JsonElement api, TimeSpan began, Dictionary<SpotId, Rows> known)
    {
        var of = spots[_looks++ % spots.Count];
        using var day = JsonDocument.Parse(await GetAsync(browser, $"/api/spots/{of}/day"));
        var page = WebUtility.HtmlDecode(await GetAsync(browser, $"/spots/{of}"));
        using var then = JsonDocument.Parse(await GetAsync(browser, "/api/spots"));
        if (Stored() is not { } after)
            return;
        foreach (var spot in api.EnumerateArray().Where(spot => spot.GetProperty("id").ValueEquals(of.Value)))
        {
            // On a full disk it may show a reading that came after the answer and that the store could not keep.
            if (began > UnwrittenUntil)
                Compare(spot, "page of the day", page, known, after, then.RootElement);
            if (began - ClockSetAt > Away)
                CompareDay(day.RootElement, of, spot.GetProperty("now").GetDateTimeOffset(), known, after);
        }
    }

    /// <summary>Notes each spell of an estimate over the limit that lasts, while the server can write down what it tells.</summary>
    private void NoteEstimate(JsonElement spot)
    {
        var id = SpotId.Parse(spot.GetProperty("id").GetString()!);
        var at = passed();
        var upper = spot.GetProperty("upperCelsius");
        if (!spot.GetProperty("estimated").GetBoolean() || upper.ValueKind != JsonValueKind.Number
            || upper.GetDouble() < spot.GetProperty("limitCelsius").GetDouble() || at <= UnwrittenUntil)
        {
            _estimated.Remove(id);
            return;
        }

        if (!_estimated.TryGetValue(id, out var spell) || at - spell.Last > Away)
            spell = (spot.GetProperty("now").GetDateTimeOffset(), at, at, false);
        if (!spell.IsNoted && at - spell.From >= StandsEstimated)
        {
            Estimated.Add(new EstimatedTooHot(id, spell.Since, spell.From));
            spell.IsNoted = true;
        }

        _estimated[id] = spell with { Last = at };
    }

    /// <summary>Holds the last hour of a day's curve against the readings that stood in the store before it was asked for and stand there after.</summary>
    private void CompareDay(JsonElement day, SpotId id, DateTimeOffset now, Dictionary<SpotId, Rows> known, Dictionary<SpotId, Rows> after)
    {
        if (!known.TryGetValue(id, out var before) || !after.TryGetValue(id, out var later))
            return;
        var (from, to) = (day.GetProperty("from").GetDateTimeOffset(), day.GetProperty("to").GetDateTimeOffset());
        var seconds = day.GetProperty("at").EnumerateArray().Select(at => at.GetDouble()).ToList();
        var surface = day.GetProperty("surfaceCelsius").EnumerateArray().ToList();
        var limit = day.GetProperty("limitCelsius").GetDouble();
        var spans = day.GetProperty("tooHot").EnumerateArray().Select(span => (From: span.GetProperty("from").GetDateTimeOffset(), To: span.GetProperty("to").GetDateTimeOffset())).ToList();
        var stepsLater = later.Latest.ToLookup(row => EndOf(row.MeasuredAt));
        foreach (var step in before.Latest.GroupBy(row => EndOf(row.MeasuredAt)))
        {
            var end = step.Key;
            if (end <= from || end >= to || end > now || end <= now.AddHours(-1) || !step.ToHashSet().SetEquals(stepsLater[end]))
                continue;
            Steps++;
            var mean = step.Average(row => row.SurfaceCelsius);
            var index = Enumerable.Range(0, seconds.Count).FirstOrDefault(i => seconds[i] == Math.Round((end - from).TotalSeconds) && surface[i].ValueKind == JsonValueKind.Number, -1);
            // Shown to a tenth.
            if (index < 0 || Math.Abs(surface[index].GetDouble() - mean) > 0.0501)
                OffCurve.Add($"day {now:O} {id} at {end:O} {(index < 0 ? "nothing" : $"{surface[index].GetDouble():F1} °C")}; the store has {mean:F2} °C");
            if (step.Max(row => row.SurfaceCelsius) >= limit && !spans.Any(span => span.From <= end && end < span.To))
                Cooler.Add($"day {now:O} {id} at {end:O} is not among the spans too hot; the store has {step.Max(row => row.SurfaceCelsius):F2} °C, limit {limit} °C");
        }
    }

    private static DateTimeOffset EndOf(DateTimeOffset measuredAt) =>
        new((measuredAt.UtcTicks + Step.Ticks - 1) / Step.Ticks * Step.Ticks, TimeSpan.Zero);

    private void Compare(JsonElement spot, string name, string page, Dictionary<SpotId, Rows> known, Dictionary<SpotId, Rows> after, JsonElement afterwards)
    {
        var id = SpotId.Parse(spot.GetProperty("id").GetString()!);
        var now = spot.GetProperty("now").GetDateTimeOffset();
        if (!known.TryGetValue(id, out var before) || !after.TryGetValue(id, out var then) || before.Newest is not { } row || then.Newest is not { } later
            || madeAt(id, row.MeasuredAt) is not { } made || passed() - made >= silentAfter - Between
            || _firstSeen[(id, row.MeasuredAt)] - made > Prompt || later.ReceivedAt < row.ReceivedAt)
            return;
        Compared++;
        // What came in meanwhile may be cooler, and may be shown.
        var least = Math.Min(row.SurfaceCelsius, later.SurfaceCelsius) - 0.05;
        // Where it is estimated the upper end speaks: it chooses the word.
        var shown = spot.GetProperty(spot.GetProperty("estimated").GetBoolean() ? "upperCelsius" : "surfaceCelsius");
        var measured = spot.GetProperty("measuredAt");
        // A newer one that the store could not keep, or not yet, or that another clock dated, may be shown too.
        if (IsNewer(measured))
            return;
        if (shown.ValueKind == JsonValueKind.Number && shown.GetDouble() < least)
            Cooler.Add($"API {now:O} {id} {shown.GetDouble():F2} °C, measured {measured}; the store has {row}, then {later}");
        // It may have come between the answer and the page.
        if (afterwards.EnumerateArray().Any(s => s.GetProperty("id").ValueEquals(id.Value) && IsNewer(s.GetProperty("measuredAt"))))
            return;
        var card = page.IndexOf($"id=\"spot-{id}\"", StringComparison.Ordinal);
        var end = card < 0 ? -1 : page.IndexOf("</article>", card, StringComparison.Ordinal);
        // Shown to a tenth.
        if (end > card && Hottest(page.Substring(card, end - card)) is var (words, celsius) && celsius < least - 0.05)
            Cooler.Add($"{name} {now:O} {id} {words}; the store has {row}, then {later}");

        bool IsNewer(JsonElement at) => at.ValueKind != JsonValueKind.Null && at.GetDateTimeOffset() > row.MeasuredAt;
    }

    /// <summary>[°C] What a card says: the temperature, or the upper end of the estimate; <c>null</c> where it says neither.</summary>
    private static (string Words, double Celsius)? Hottest(string card) =>
        (UpperEnd().Match(card) is { Success: true } upper ? upper : Degrees().Match(card)) is { Success: true } said
            ? (said.Value, double.Parse(said.Groups[1].Value, CultureInfo.InvariantCulture))
            : null;

    /// <summary>Of each spot the latest good readings, and the one of the five latest that came in last.</summary>
    private Dictionary<SpotId, Rows>? Stored()
    {
        try
        {
            using var file = new SqliteConnection(new SqliteConnectionStringBuilder { DataSource = store, Mode = SqliteOpenMode.ReadWrite, Pooling = false, DefaultTimeout = 1 }.ToString());
            file.Open();
            var stored = new Dictionary<SpotId, Rows>();
            foreach (var spot in spots)
            {
                using var command = file.CreateCommand();
                command.CommandText = "SELECT measured_at, received_at, surface_celsius FROM reading WHERE spot = $spot AND quality = 'good' AND surface_celsius IS NOT NULL ORDER BY measured_at DESC LIMIT 40";
                command.Parameters.AddWithValue("$spot", spot.Value);
                using var rows = command.ExecuteReader();
                List<Row> latest = [];
                while (rows.Read())
                {
                    var row = new Row(DateTimeOffset.FromUnixTimeMilliseconds(rows.GetInt64(0)), DateTimeOffset.FromUnixTimeMilliseconds(rows.GetInt64(1)), rows.GetDouble(2));
                    latest.Add(row);
                    _firstSeen.TryAdd((spot, row.MeasuredAt), passed());
                }

                if (latest.Count > 0)
                    stored.Add(spot, new Rows(latest.Take(5).MaxBy(row => row.ReceivedAt)!, latest));
            }

            return stored;
        }
        catch (SqliteException)
        {
            // The file is being made, or its disk is full.
            return null;
        }
    }

    [GeneratedRegex(@"data-part=""degrees"">[^<0-9−-]*(\d+(?:\.\d+)?) °C")]
    private static partial Regex Degrees();

    [GeneratedRegex(@"data-part=""range""[^>]*>nine times in ten [^<°]*?(\d+(?:\.\d+)?) °C")]
    private static partial Regex UpperEnd();

    private sealed record Rows(Row Newest, List<Row> Latest);

    private sealed record Row(DateTimeOffset MeasuredAt, DateTimeOffset ReceivedAt, double SurfaceCelsius);
}
