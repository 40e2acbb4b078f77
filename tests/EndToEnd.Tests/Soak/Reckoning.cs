using System.Globalization;
using System.Text;
using PavementWatch.Core.Readings;

namespace PavementWatch.EndToEnd.Tests.Soak;

/// <summary>The end of a soak: what the gateway made against what the store has, reading by reading.</summary>
internal sealed class Reckoning
{
    /// <summary>[ms] The gateway dates a reading so much later at most, where a clock set back meets a moment that has one.</summary>
    public const int MostMilliseconds = 20;

    private Reckoning()
    {
    }

    /// <summary>Readings the gateway made.</summary>
    public int Produced { get; private init; }

    /// <summary>Rows in the store.</summary>
    public int Stored { get; private init; }

    /// <summary>Rows made so shortly before a kill that the gateway could not say so any more.</summary>
    public int Unsaid { get; private set; }

    /// <summary>Readings that are not in the store for a reason, by the reason.</summary>
    public Dictionary<string, int> Reasons { get; } = [];

    /// <summary>Readings that are not there, or not as they were made.</summary>
    public int Lost { get; private set; }

    /// <summary>Readings that are there more than once, or that nobody made.</summary>
    public int Doubled { get; private set; }

    /// <summary>Everything that may not be.</summary>
    public List<string> Faults { get; } = [];

    /// <summary>Whether a row is a reading as it was sent, or as the server judged it: what was measured is never changed.</summary>
    /// <remarks>The server adds doubts of its own, and believes a spike alone where weather, a neighbour or a person explains it.</remarks>
    public static bool IsAsJudged(Reading sent, Reading row)
    {
        const Doubt OfTheServer = Doubt.Stuck | Doubt.Disagrees | Doubt.Wet;
        if (row with { Quality = sent.Quality, Doubt = sent.Doubt } != sent)
            return false;
        if (sent.Quality == ReadingQuality.Rejected)
            return row == sent;
        var (added, taken) = (row.Doubt & ~sent.Doubt, sent.Doubt & ~row.Doubt);
        if (taken != Doubt.None)
            return (sent.Doubt, row.Doubt, sent.Quality, row.Quality) == (Doubt.Spike, Doubt.None, ReadingQuality.Suspect, ReadingQuality.Good);
        return added == Doubt.None ? row.Quality == sent.Quality : (added & ~OfTheServer) == Doubt.None && row.Quality == ReadingQuality.Suspect;
    }

    /// <summary>Compares.</summary>
    /// <param name="journal">What the gateway said.</param>
    /// <param name="stored">What the store has.</param>
    /// <param name="duplicates">How many readings the gateway counted as two of one spot and moment.</param>
    /// <param name="kept">What the gateway still keeps, because its date is years from the server's clock.</param>
    /// <param name="undone">What the store had and a restore took away.</param>
    public static Reckoning Of(
        Journal journal, IReadOnlyList<Reading> stored, long duplicates, IReadOnlySet<(SpotId, long)> kept, IReadOnlySet<(SpotId, long)> undone)
    {
        var dated = new Dictionary<(SpotId, long), List<Produced>>();
        foreach (var produced in journal.Readings)
        {
            foreach (var date in produced.DatesMilliseconds.Distinct())
            {
                if (!dated.TryGetValue((produced.Reading.Spot, date), out var there))
                    dated.Add((produced.Reading.Spot, date), there = []);
                there.Add(produced);
            }
        }

        var unsaid = 0;
        var reckoning = new Reckoning { Produced = journal.Readings.Count, Stored = stored.Count };
        foreach (var row in stored)
        {
            var at = row.MeasuredAt.ToUnixTimeMilliseconds();
            var same = Enumerable.Range(0, MostMilliseconds).SelectMany(later => dated.GetValueOrDefault((row.Spot, at - later)) ?? []).ToList();
            // At night one reading is like another: a row goes to one that has none yet, best to one that kept this date.
            var made = same.Where(produced => IsAsJudged(produced.Reading with { MeasuredAt = row.MeasuredAt }, row))
                .OrderBy(produced => produced.StoredAs.Count).ThenByDescending(produced => produced.DatesMilliseconds[^1] == at).FirstOrDefault();
            if (made is not null)
                made.StoredAs.Add(row);
            else if (same.Count > 0)
                reckoning.Lose($"changed on the way: stored {row}; made {same[0]}");
            else if (journal.Kills.Any(kill => row.MeasuredAt >= kill && row.MeasuredAt <= kill.AddHours(1)))
                unsaid++;
            else
                reckoning.Double($"nobody made {row}");
        }

        reckoning.Unsaid = unsaid;
        foreach (var produced in journal.Readings.Where(produced => produced.StoredAs.Count != 1))
        {
            if (produced.StoredAs is { Count: > 1 } rows)
                reckoning.Double($"stored {rows.Count} times: {produced}, as {string.Join(" and ", rows.Select(row => row.MeasuredAt.ToString("O", CultureInfo.InvariantCulture)))}");
            else if (produced.WasInMemoryWhenKilled)
                reckoning.Because("in memory, for the disk was full, when the gateway was killed");
            else if (IsIn(kept, produced))
                reckoning.Because("kept at the gateway: dated years from the server's clock");
            else if (IsIn(undone, produced))
                reckoning.Because("made after the backup that was restored");
            else
                reckoning.Lose($"missing: {produced}");
        }

        if (duplicates > 0)
            reckoning.Lose($"the gateway took {duplicates} readings for ones it had already");
        return reckoning;
    }

    public override string ToString()
    {
        var text = new StringBuilder($"{Produced} readings made, {Stored} in the store, {Unsaid} of them made in the last moment before a kill");
        foreach (var (reason, count) in Reasons)
            text.Append(CultureInfo.InvariantCulture, $"; {count} {reason}");
        return text.ToString();
    }

    private static bool IsIn(IReadOnlySet<(SpotId, long)> rows, Produced produced) =>
        produced.DatesMilliseconds.Any(date => Enumerable.Range(0, MostMilliseconds).Any(later => rows.Contains((produced.Reading.Spot, date + later))));

    private void Lose(string fault)
    {
        Lost++;
        Faults.Add(fault);
    }

    private void Double(string fault)
    {
        Doubled++;
        Faults.Add(fault);
    }

    private void Because(string reason) => Reasons[reason] = Reasons.GetValueOrDefault(reason) + 1;
}
