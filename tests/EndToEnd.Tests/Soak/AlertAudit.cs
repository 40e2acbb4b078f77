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

    private static readonly AlertReason[] Hot = [AlertReason.ReadingsOverLimit, AlertReason.OverLimitAgain, AlertReason.EstimateOverLimit, AlertReason.DoubtfulOverLimit];

    /// <summary>Hot spells that the stored readings call to be told.</summary>
    public int CalledFor { get; private set; }

    /// <summary>Warnings that were told.</summary>
    public int Told { get; private set; }

    /// <summary>Alerts that were not told, or whose message never came.</summary>
    public List<string> Missed { get; } = [];

    /// <summary>Alerts told twice, or messages that came twice without a reason.</summary>
    public List<string> Doubled { get; } = [];

    /// <summary>Compares what the server decided.</summary>
    public void Decisions(IEnumerable<StoredReading> stored, IReadOnlyList<WrittenChange> written, Func<SpotId, AlertRule> ruleOf)
    {
        foreach (var spot in stored.GroupBy(row => row.Reading.Spot))
        {
            var changes = written.Where(change => change.Spot == spot.Key.Value).ToList();
            FindDoubled(changes);
            foreach (var call in CallsOf([.. spot.OrderBy(row => row.ReceivedAt).ThenBy(row => row.Reading.MeasuredAt)], ruleOf(spot.Key)))
            {
                CalledFor++;
                if (!StandsTold(changes, call))
                    Missed.Add($"{spot.Key} too hot by the stored readings at {call:O}, and nobody was told");
            }
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
                "SELECT SpotId, Because, At, Notified FROM AlertEvents ORDER BY Id",
                row => new WrittenChange(row.GetString(0), Enum.Parse<AlertReason>(row.GetString(1)), DateTimeOffset.FromUnixTimeMilliseconds(row.GetInt64(2)), row.GetBoolean(3))),
            All("SELECT Id, Standing FROM Notifications", row => new WrittenMessage(row.GetGuid(0), row.GetString(1))));
    }

    /// <summary>When the readings, as they came, make the machine tell of heat that still lasts a while later.</summary>
    private static IEnumerable<DateTimeOffset> CallsOf(IReadOnlyList<StoredReading> rows, AlertRule rule)
    {
        if (rows.Count == 0)
            yield break;
        var memory = AlertMemory.Start(rows[0].ReceivedAt);
        var last = rows[0].ReceivedAt;
        DateTimeOffset? open = null;
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
            if (memory.State != AlertState.TooHot)
            {
                open = null;
            }
            else if (open is { } since && row.ReceivedAt - since >= InTime)
            {
                yield return since;
                open = null;
            }
        }
    }

    /// <summary>Whether walkers stand told of heat within the time allowed, or were told near it.</summary>
    private static bool StandsTold(IEnumerable<WrittenChange> changes, DateTimeOffset call)
    {
        var told = false;
        foreach (var change in changes)
        {
            if (change.At > call + InTime + ClockMoved)
                break;
            if (change.Told && Hot.Contains(change.Because))
                told = true;
            else if (change.Because is AlertReason.UnderLongEnough or AlertReason.EstimateUnderLongEnough && change.At < call - ClockMoved)
                told = false;
        }

        return told;
    }

    private void FindDoubled(IEnumerable<WrittenChange> changes)
    {
        WrittenChange? standing = null;
        foreach (var change in changes)
        {
            if (change.Told && Hot.Contains(change.Because))
            {
                Told++;
                if (standing is not null)
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
