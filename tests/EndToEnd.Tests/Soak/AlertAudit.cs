using Microsoft.Data.Sqlite;
using PavementWatch.Core.Alerts;
using PavementWatch.Core.Readings;
using PavementWatch.Server.Store;

namespace PavementWatch.EndToEnd.Tests.Soak;

/// <summary>A change of a spot that the server wrote down.</summary>
/// <param name="Spot">Where.</param>
/// <param name="Because">Why.</param>
/// <param name="At">When, by the server's clock.</param>
/// <param name="Told">Whether walkers were told.</param>
internal sealed record WrittenChange(string Spot, AlertReason Because, DateTimeOffset At, bool Told);

/// <summary>A message the server wrote down for the phone.</summary>
/// <param name="Id">Its name.</param>
/// <param name="Standing">Where it stands: <c>Waiting</c>, <c>Sent</c>, <c>Failed</c>, <c>Expired</c>, <c>Overtaken</c>.</param>
internal sealed record WrittenMessage(Guid Id, string Standing);

/// <summary>The alerts of a soak, recomputed from the stored readings and held against what was told.</summary>
internal sealed class AlertAudit
{
    /// <summary>By then a spell that still lasts has been told, if only when readings come again.</summary>
    private static readonly TimeSpan InTime = TimeSpan.FromMinutes(20);

    /// <summary>How far the server's clock may have been set between two looks at it.</summary>
    private static readonly TimeSpan ClockMoved = TimeSpan.FromMinutes(15);

    /// <summary>A rise that lasts so long by the readings is no matter of one reading that came a moment earlier or later.</summary>
    private static readonly TimeSpan StillRises = TimeSpan.FromMinutes(10);

    private static readonly AlertReason[] Soon = [AlertReason.TrendReachesLimit, AlertReason.ForecastReachesLimit];

    private static readonly AlertReason[] Hot = [AlertReason.ReadingsOverLimit, AlertReason.OverLimitAgain, AlertReason.EstimateOverLimit, AlertReason.DoubtfulOverLimit];

    /// <summary>Hot spells that the stored readings call to be told.</summary>
    public int CalledFor { get; private set; }

    /// <summary>Rises towards a limit that the stored readings call to be told.</summary>
    public int SoonCalledFor { get; private set; }

    /// <summary>Spells in which a card said that its spot is estimated too hot.</summary>
    public int EstimatedCalledFor { get; private set; }

    /// <summary>Warnings that were told.</summary>
    public int Told { get; private set; }

    /// <summary>Alerts that were not told, or whose message never came.</summary>
    public List<string> Missed { get; } = [];

    /// <summary>Alerts told twice, or messages that came twice without a reason.</summary>
    public List<string> Doubled { get; } = [];

    /// <summary>Compares what the server decided.</summary>
    /// <param name="stored">What the store has.</param>
    /// <param name="written">What the server wrote down.</param>
    /// <param name="ruleOf">The rule of a spot.</param>
    /// <param name="restoredAt">When a backup was restored, by the server's clock: what was told before may be told again.</param>
    public void Decisions(
        IEnumerable<StoredReading> stored, IReadOnlyList<WrittenChange> written, Func<SpotId, AlertRule> ruleOf, IReadOnlyList<DateTimeOffset> restoredAt)
    {
        foreach (var spot in stored.GroupBy(row => row.Reading.Spot))
        {
            var changes = written.Where(change => change.Spot == spot.Key.Value).ToList();
            FindDoubled(changes, restoredAt);
            var rule = ruleOf(spot.Key);
            foreach (var (call, isSoon) in CallsOf([.. spot.OrderBy(row => row.ReceivedAt).ThenBy(row => row.Reading.MeasuredAt)], rule))
            {
                if (isSoon)
                    SoonCalledFor++;
                else
                    CalledFor++;
                if (!StandsTold(changes, call) && !(isSoon && ToldSoon(changes, call, rule)))
                    Missed.Add($"{spot.Key} {(isSoon ? "soon " : "")}too hot by the stored readings at {call:O}, and nobody was told");
            }
        }
    }

    /// <summary>Compares what the cards said was estimated too hot.</summary>
    /// <param name="spells">What they said.</param>
    /// <param name="written">What the server decided.</param>
    /// <param name="rewound">Spans of which a restore took away what was decided.</param>
    public void Estimates(IEnumerable<EstimatedTooHot> spells, IReadOnlyList<WrittenChange> written, IReadOnlyList<(TimeSpan From, TimeSpan To)> rewound)
    {
        foreach (var spell in spells.Where(spell => !rewound.Any(span => span.From <= spell.From + InTime && span.To >= spell.From)))
        {
            EstimatedCalledFor++;
            if (!StandsTold(written.Where(change => change.Spot == spell.Spot.Value), spell.Since))
                Missed.Add($"{spell.Spot} estimated too hot by its card from {spell.Since:O}, and nobody was told");
        }
    }

    /// <summary>Compares what came to the phone.</summary>
    /// <param name="messages">What the server wrote down for it.</param>
    /// <param name="shown">What came.</param>
    /// <param name="disturbed">Spans of the phone's clock in which an answer may have been lost on its way back.</param>
    public void Messages(IReadOnlyList<WrittenMessage> messages, IReadOnlyList<Shown> shown, IReadOnlyList<(TimeSpan From, TimeSpan To)> disturbed)
    {
        foreach (var message in messages)
        {
            var came = shown.Where(one => one.Id == message.Id).Select(one => one.At).Order().ToList();
            if (message.Standing is "Waiting" or "Failed" || (message.Standing == "Sent" && came.Count == 0))
                Missed.Add($"message {message.Id} stands at {message.Standing} and came {came.Count} times");
            // Sending twice after an answer that was lost is allowed; the phone shows the second in the first one's place.
            for (var i = 1; i < came.Count; i++)
            {
                if (!disturbed.Any(span => span.From <= came[i] && span.To >= came[i - 1]))
                    Doubled.Add($"message {message.Id} came {came.Count} times");
            }
        }
    }

    /// <summary>Reads what the server wrote down.</summary>
    public static (List<WrittenChange> Changes, List<WrittenMessage> Messages) Written(string registry)
    {
        using var file = new SqliteConnection(new SqliteConnectionStringBuilder { DataSource = registry, Mode = SqliteOpenMode.ReadWrite, Pooling = false }.ToString());
        file.Open();
        List<T> All<T>(string sql, Func<SqliteDataReader, T> row)
        {
            using var command = file.CreateCommand();
#pragma warning disable CA2100 // Written in this file.
            command.CommandText = sql;
#pragma warning restore CA2100
            using var reader = command.ExecuteReader();
            List<T> all = [];
            while (reader.Read())
                all.Add(row(reader));
            return all;
        }

        return (
            All(
                "SELECT SpotId, Because, At, Notified FROM AlertEvents WHERE Side = 'Heat' ORDER BY Id",
                row => new WrittenChange(row.GetString(0), Enum.Parse<AlertReason>(row.GetString(1)), DateTimeOffset.FromUnixTimeMilliseconds(row.GetInt64(2)), row.GetBoolean(3))),
            All("SELECT Id, Standing FROM Notifications", row => new WrittenMessage(row.GetGuid(0), row.GetString(1))));
    }

    /// <summary>When the readings, as they came, make the machine tell of heat, or of heat soon, that still lasts a while later.</summary>
    private static IEnumerable<(DateTimeOffset At, bool IsSoon)> CallsOf(IReadOnlyList<StoredReading> rows, AlertRule rule)
    {
        if (rows.Count == 0)
            yield break;
        var memory = AlertMemory.Start(rows[0].ReceivedAt);
        var last = rows[0].ReceivedAt;
        DateTimeOffset? open = null;
        DateTimeOffset? rises = null;
        foreach (var row in rows)
        {
            for (last += rule.Interval; last < row.ReceivedAt; last += rule.Interval)
                memory = AlertMachine.Step(memory, new Tick(last), rule).Memory;
            last = row.ReceivedAt;
            // No reading was measured later than it came.
            var at = row.Reading.MeasuredAt < row.ReceivedAt ? row.Reading.MeasuredAt : row.ReceivedAt;
            if (!rule.IsCurrent(at, row.ReceivedAt))
                continue;
            var (next, decision) = AlertMachine.Step(memory, new Measured(row.ReceivedAt, row.Reading with { MeasuredAt = at }), rule);
            memory = next;
            if (decision is { Notify: true, IsWarning: true, To: AlertState.TooHot })
                open = row.ReceivedAt;
            if (decision is { Notify: true, To: AlertState.Rising })
                rises = row.ReceivedAt;
            if (memory.State is not (AlertState.Rising or AlertState.TooHot))
            {
                rises = null;
            }
            else if (rises is { } soon && row.ReceivedAt - soon >= StillRises)
            {
                yield return (soon, true);
                rises = null;
            }

            if (memory.State != AlertState.TooHot)
            {
                open = null;
            }
            else if (open is { } since && row.ReceivedAt - since >= InTime)
            {
                yield return (since, false);
                open = null;
            }
        }
    }

    /// <summary>Whether walkers stand told of heat within the time allowed, or were told near it; what they were told the day before has ended.</summary>
    private static bool StandsTold(IEnumerable<WrittenChange> changes, DateTimeOffset call)
    {
        var told = false;
        foreach (var change in changes)
        {
            if (change.At > call + InTime + ClockMoved)
                break;
            if (change.Told && Hot.Contains(change.Because) && change.At.UtcDateTime.Date == call.UtcDateTime.Date)
                told = true;
            else if (change.Because is AlertReason.UnderLongEnough or AlertReason.EstimateUnderLongEnough && change.At < call - ClockMoved)
                told = false;
        }

        return told;
    }

    /// <summary>Whether walkers were told near that time that it will soon be too hot; not again within the rule's quiet.</summary>
    private static bool ToldSoon(IEnumerable<WrittenChange> changes, DateTimeOffset call, AlertRule rule) =>
        changes.Any(change => change.Told && Soon.Contains(change.Because)
            && change.At >= call - rule.RisingQuiet - ClockMoved && change.At <= call + InTime + ClockMoved);

    private void FindDoubled(IEnumerable<WrittenChange> changes, IReadOnlyList<DateTimeOffset> restoredAt)
    {
        WrittenChange? standing = null;
        foreach (var change in changes)
        {
            if (change.Told && Hot.Contains(change.Because))
            {
                Told++;
                // What was told ends with the day, which where these spots are is that of UTC.
                if (standing is { At: var at } && at.UtcDateTime.Date == change.At.UtcDateTime.Date && !restoredAt.Any(restored => restored >= at - ClockMoved && restored <= change.At + ClockMoved))
                    Doubled.Add($"{change.Spot} told too hot at {standing.At:O} ({standing.Because}) and again at {change.At:O} ({change.Because})");
                standing = change;
            }
            else if (change.Because is AlertReason.UnderLongEnough or AlertReason.EstimateUnderLongEnough)
            {
                standing = null;
            }
        }
    }
}
