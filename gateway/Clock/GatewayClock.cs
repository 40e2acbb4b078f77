using PavementWatch.Core.Readings;
using PavementWatch.Gateway.Outbox;

namespace PavementWatch.Gateway.Clock;

/// <summary>Dates readings: held while no time is known, never twice the same moment, never back in time.</summary>
/// <remarks>
/// Sampling runs on a time of its own, <see cref="SamplingNow"/>, which starts with the wall clock and then only
/// counts; a jump of the wall clock never reaches it. Each reading is dated from the time since boot it was taken at.
/// Used by one loop; not safe for threads.
/// </remarks>
internal sealed class GatewayClock(IWallClock wall, ReadingOutbox outbox, IEnumerable<IClockChip> chips, ILogger<GatewayClock> logger)
{
    private static readonly TimeSpan SetChipEvery = TimeSpan.FromHours(12);

    private readonly ClockDiscipline _discipline = new(outbox.LastDated());
    private readonly DateTimeOffset _samplingBootedAt = wall.Now - wall.SinceBoot;
    private DateTimeOffset? _chipBootedAt;
    private TimeSpan? _chipSetAt;
    private bool _begun;

    /// <summary>Whose time it is: <c>network</c>, <c>chip</c> or <c>unknown</c>.</summary>
    public string Source { get; private set; } = "unknown";

    /// <summary>Now, when it is known.</summary>
    public DateTimeOffset? Now => _discipline.BootedAt + wall.SinceBoot;

    /// <summary>The sampling's own time: rises evenly, whatever happens to the wall clock.</summary>
    public DateTimeOffset SamplingNow => _samplingBootedAt + wall.SinceBoot;

    /// <summary>Looks at the clocks and dates in the outbox what can be dated now. To be called before each step of the sampling.</summary>
    public void Observe()
    {
        if (!_begun)
        {
            _begun = true;
            outbox.GiveUpUndatable(wall.Boot);
            ReadChip();
        }
        var sinceBoot = wall.SinceBoot;
        var network = wall.TrustedNow;
        var now = network ?? _chipBootedAt + sinceBoot;
        var change = _discipline.Observe(sinceBoot, now);
        if (now is not null)
            Source = network is not null ? "network" : "chip";
        switch (change)
        {
            case ClockChange.Known:
                logger.Known(Source, now!.Value, outbox.Date(wall.Boot, _discipline.BootedAt!.Value));
                break;
            case ClockChange.SteppedForward or ClockChange.SteppedBack:
                logger.Stepped(now!.Value, outbox.Date(wall.Boot, _discipline.BootedAt!.Value, again: true));
                break;
            case ClockChange.SlowingDown:
                logger.SlowingDown(_discipline.Ahead.TotalSeconds);
                break;
        }
        if (network is { } right)
            SetChip(right, sinceBoot);
    }

    /// <summary>Gives a reading of the sampling its place in time.</summary>
    public TakenReading Date(Reading reading)
    {
        var sinceBoot = reading.MeasuredAt - _samplingBootedAt;
        if (_discipline.BootedAt is not { } bootedAt)
            return new TakenReading(reading, wall.Boot, sinceBoot, Dated: false);
        var at = bootedAt + sinceBoot;
        // The even minute of the sampling stands where the clocks agree.
        var dated = (at - reading.MeasuredAt).Duration() <= ClockDiscipline.Ordinary
            ? reading
            : reading with { MeasuredAt = new DateTimeOffset(at.UtcTicks - (at.UtcTicks % TimeSpan.TicksPerMillisecond), TimeSpan.Zero) };
        if (_discipline.Ahead > ClockDiscipline.Ordinary)
        {
            dated = dated with
            {
                Doubt = dated.Doubt | Doubt.Clock,
                Quality = dated.Quality == ReadingQuality.Good ? ReadingQuality.Suspect : dated.Quality,
            };
        }
        return new TakenReading(dated, wall.Boot, sinceBoot, Dated: true);
    }

    private void ReadChip()
    {
        foreach (var chip in chips)
        {
            if (chip.Read() is { } told && told >= SystemClock.Earliest)
                _chipBootedAt = told - wall.SinceBoot;
        }
        if (wall.TrustedNow is null && _chipBootedAt is null)
            logger.Unknown();
    }

    private void SetChip(DateTimeOffset now, TimeSpan sinceBoot)
    {
        if (_chipSetAt is { } before && sinceBoot - before < SetChipEvery)
            return;
        _chipSetAt = sinceBoot;
        foreach (var chip in chips)
            chip.Set(now);
    }
}
