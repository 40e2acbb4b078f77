using System.Globalization;
using System.Text.RegularExpressions;
using PavementWatch.Core.Readings;

namespace PavementWatch.EndToEnd.Tests.Soak;

/// <summary>A reading the gateway says it made.</summary>
/// <param name="Reading">Its values, and the moment it was first dated with.</param>
/// <param name="Boot">The start of the gateway it was made in.</param>
/// <param name="SinceBootMilliseconds">[ms] When, since that start.</param>
internal sealed record Produced(Reading Reading, string Boot, long SinceBootMilliseconds)
{
    /// <summary>[ms since 1970] Every moment it was ever dated with, first to last.</summary>
    public List<long> DatesMilliseconds { get; } = [Reading.MeasuredAt.ToUnixTimeMilliseconds()];

    /// <summary>The store's rows of it.</summary>
    public List<Reading> StoredAs { get; } = [];

    /// <summary>Whether the gateway said that it is on its disk.</summary>
    public bool IsOnDisk { get; set; }

    /// <summary>Whether it waited in memory, because the disk was full, when the gateway was killed.</summary>
    public bool WasInMemoryWhenKilled { get; set; }

    public override string ToString() =>
        $"{Reading.Spot} {Reading.MeasuredAt:O} (boot {Boot}, {SinceBootMilliseconds} ms; dated {DatesMilliseconds.Count} times, last {DateTimeOffset.FromUnixTimeMilliseconds(DatesMilliseconds[^1]):O}) "
        + $"surface {Reading.SurfaceCelsius} °C, {Reading.Quality} [{Reading.Doubt}]{(IsOnDisk ? "" : ", in memory only")}";
}

/// <summary>What the gateway itself says it made, read from its log line by line; the truth the store is held against.</summary>
internal sealed partial class Journal
{
    private readonly Lock _lock = new();
    private readonly List<Produced> _ofThisStart = [];
    private readonly Dictionary<(SpotId, long), List<TimeSpan>> _madeAt = [];

    /// <summary>Every reading, in the order it was made.</summary>
    public List<Produced> Readings { get; } = [];

    /// <summary>For each kill the last moment the journal knows of; what was made after it and not written down is not in the journal.</summary>
    public List<DateTimeOffset> Kills { get; } = [];

    /// <summary>What the gateway called an error.</summary>
    public List<string> Errors { get; } = [];

    /// <summary>When a reading was made, by the time passed, whatever the gateway's clock said; <c>null</c> when it has another date by now.</summary>
    public TimeSpan? MadeAt(SpotId spot, DateTimeOffset date)
    {
        lock (_lock)
        {
            // Of readings of one moment, each later one is dated a millisecond later.
            for (var later = 0; later < Reckoning.MostMilliseconds; later++)
            {
                if (_madeAt.TryGetValue((spot, date.ToUnixTimeMilliseconds() - later), out var made) && made.Count > later)
                    return made[later];
            }

            return null;
        }
    }

    /// <summary>Takes a line of its log.</summary>
    /// <param name="line">The line.</param>
    /// <param name="passed">When it came, by the time passed.</param>
    public void Note(string line, TimeSpan passed)
    {
        lock (_lock)
        {
            if (Kept().Match(line) is { Success: true } kept)
                Add(kept.Groups, passed);
            else if (Dated().Match(line) is { Success: true } dated)
                DateAnew(dated.Groups["boot"].Value, Moment(dated.Groups["at"].Value).ToUnixTimeMilliseconds());
            else if (line.Contains("the disk takes readings again", StringComparison.Ordinal))
                _ofThisStart.ForEach(produced => produced.IsOnDisk = true);
            else if (line.StartsWith("fail:", StringComparison.Ordinal) || line.StartsWith("crit:", StringComparison.Ordinal))
                Errors.Add(line);
        }
    }

    /// <summary>The gateway was killed and has said its last.</summary>
    public void Killed()
    {
        lock (_lock)
        {
            _ofThisStart.Where(produced => !produced.IsOnDisk).ToList().ForEach(produced => produced.WasInMemoryWhenKilled = true);
            if (_ofThisStart is [.., var last])
                Kills.Add(DateTimeOffset.FromUnixTimeMilliseconds(last.DatesMilliseconds[^1]));
            _ofThisStart.Clear();
        }
    }

    private void Add(GroupCollection words, TimeSpan passed)
    {
        double? Number(string name) => words[name].Value is "" or "(null)" ? null : double.Parse(words[name].Value, CultureInfo.InvariantCulture);
        var reading = new Reading(SpotId.Parse(words["spot"].Value), Moment(words["at"].Value))
        {
            SurfaceCelsius = Number("surface"),
            AirCelsius = Number("air"),
            HumidityPercent = Number("humidity"),
            SensorCelsius = Number("sensor"),
            LightLux = Number("light"),
            SupplyVolts = Number("supply"),
            Quality = Enum.Parse<ReadingQuality>(words["quality"].Value),
            Doubt = Enum.Parse<Doubt>(words["doubt"].Value),
        };
        var produced = new Produced(reading, words["boot"].Value, long.Parse(words["ms"].Value, CultureInfo.InvariantCulture)) { IsOnDisk = words["where"].Value == "on disk" };
        Readings.Add(produced);
        var moment = (reading.Spot, reading.MeasuredAt.ToUnixTimeMilliseconds());
        if (!_madeAt.TryGetValue(moment, out var made))
            _madeAt.Add(moment, made = []);
        made.Add(passed);
        _ofThisStart.Add(produced);
    }

    private void DateAnew(string boot, long bootedAtMilliseconds)
    {
        foreach (var produced in _ofThisStart.Where(produced => produced.Boot == boot))
            produced.DatesMilliseconds.Add(bootedAtMilliseconds + produced.SinceBootMilliseconds);
    }

    private static DateTimeOffset Moment(string text) => DateTimeOffset.Parse(text, CultureInfo.InvariantCulture);

    [GeneratedRegex(
        @"(?<where>on disk|in memory): (?<spot>\S+) (?<at>\S+) \((?<boot>\S+) (?<ms>\d+) ms\) surface (?<surface>\S*) °C, air (?<air>\S*) °C, "
        + @"(?<humidity>\S*) %, sensor (?<sensor>\S*) °C, (?<light>\S*) lx, (?<supply>\S*) V, (?<quality>\w+) \[(?<doubt>[^\]]*)\]")]
    private static partial Regex Kept();

    [GeneratedRegex(@"dated: boot (?<boot>\S+) began (?<at>\S+);")]
    private static partial Regex Dated();
}
