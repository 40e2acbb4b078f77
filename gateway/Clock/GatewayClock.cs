using PavementWatch.Core.Readings;
using PavementWatch.Gateway.Outbox;

namespace PavementWatch.Gateway.Clock;

/// <summary>Dates readings: held while no time is known, never twice the same moment, never back in time.</summary>
/// <remarks>
/// Sampling runs on a time of its own, <see cref="SamplingNow"/>, which starts with the wall clock and then only
/// counts; a jump of the wall clock never reaches it. Each reading is dated from the time since boot it was taken at.
/// Used by one loop; not safe for threads.
/// </remarks>
internal sealed class GatewayClock
{
    private static readonly TimeSpan SetChipEvery = TimeSpan.FromHours(12);

    private readonly IWallClock _wall;
    private readonly ReadingOutbox _outbox;
    private readonly IReadOnlyList<IClockChip> _chips;
    private readonly ILogger<GatewayClock> _logger;
    private readonly ClockDiscipline _discipline;
    private readonly DateTimeOffset _samplingBootedAt;

    private readonly bool _mayRepeat;
    private readonly int _bootNumber;

    private int _setBack;
    private DateTimeOffset? _chipBootedAt;
    private TimeSpan? _chipSetAt;
    private bool _begun;
    private bool _networkSeen;

    public GatewayClock(IWallClock wall, ReadingOutbox outbox, IEnumerable<IClockChip> chips, ILogger<GatewayClock> logger)
    {
        (_wall, _outbox, _chips, _logger) = (wall, outbox, [.. chips], logger);
        _mayRepeat = !outbox.TryLastDated(out var last);
        _discipline = new ClockDiscipline(last);
        _bootNumber = wall.Boot.Sum(letter => letter);
        var look = wall.Look();
        _samplingBootedAt = look.Now - look.SinceBoot;
    }

    /// <summary>Keeps a moment's second reading beside its first, and its third beside both, in place of being taken for the same.</summary>
    private TimeSpan Apart => TimeSpan.FromMilliseconds(1 + ((_bootNumber + _setBack) * 31 % 997));

    /// <summary>Whose time it is: <c>network</c>, <c>chip</c> or <c>unknown</c>.</summary>
    public string Source { get; private set; } = "unknown";

    /// <summary>Now, when it is known.</summary>
    public DateTimeOffset? Now => _discipline.BootedAt + _wall.SinceBoot;

    /// <summary>The sampling's own time: rises evenly, whatever happens to the wall clock.</summary>
    public DateTimeOffset SamplingNow => _samplingBootedAt + _wall.SinceBoot;

    /// <summary>Looks at the clocks and dates in the outbox what can be dated now. To be called before each step of the sampling.</summary>
    public void Observe()
    {
        if (!_begun)
        {
            _begun = true;
            _outbox.GiveUpUndatable(_wall.Boot);
            ReadChip();
        }
        var look = _wall.Look();
        var sinceBoot = look.SinceBoot;
        DateTimeOffset? network = look.IsTrusted ? look.Now : null;
        // Once the network has told the time, counting on from it is better than a chip read at the start.
        _networkSeen |= network is not null;
        var now = network ?? (_networkSeen ? null : _chipBootedAt + sinceBoot);
        var change = _discipline.Observe(sinceBoot, now);
        if (now is not null)
            Source = network is not null ? "network" : "chip";
        switch (change)
        {
            case ClockChange.Known:
                _logger.Known(Source, now!.Value, _outbox.Date(_wall.Boot, _discipline.BootedAt!.Value));
                break;
            case ClockChange.SteppedForward:
                _logger.Stepped(now!.Value, _outbox.Date(_wall.Boot, _discipline.BootedAt!.Value, again: true));
                break;
            case ClockChange.SteppedBack:
                _setBack++;
                _logger.Stepped(now!.Value, _outbox.Date(_wall.Boot, _discipline.BootedAt!.Value + Apart, again: true));
                break;
            case ClockChange.SlowingDown:
                _logger.SlowingDown(_discipline.Ahead.TotalSeconds);
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
            return new TakenReading(reading, _wall.Boot, sinceBoot, Dated: false);
        var at = bootedAt + sinceBoot;
        var isRepeated = at <= _discipline.RepeatsUntil;
        // Where the disk could not tell what was dated before the start, no moment may meet one of then either.
        var isApart = isRepeated || _mayRepeat;
        if (isApart)
            at += Apart;
        // The even minute of the sampling stands where the clocks agree.
        var dated = !isApart && (at - reading.MeasuredAt).Duration() <= ClockDiscipline.Ordinary
            ? reading
            : reading with { MeasuredAt = new DateTimeOffset(at.UtcTicks - (at.UtcTicks % TimeSpan.TicksPerMillisecond), TimeSpan.Zero) };
        if (isRepeated || _discipline.Ahead > ClockDiscipline.Ordinary)
        {
            dated = dated with
            {
                Doubt = dated.Doubt | Doubt.Clock,
                Quality = dated.Quality == ReadingQuality.Good ? ReadingQuality.Suspect : dated.Quality,
            };
        }
        return new TakenReading(dated, _wall.Boot, sinceBoot, Dated: true);
    }

    private void ReadChip()
    {
        foreach (var chip in _chips)
        {
            if (chip.Read() is { } told && told >= SystemClock.Earliest)
                _chipBootedAt = told - _wall.SinceBoot;
        }
        if (!_wall.Look().IsTrusted && _chipBootedAt is null)
            _logger.Unknown();
    }

    private void SetChip(DateTimeOffset now, TimeSpan sinceBoot)
    {
        if (_chipSetAt is { } before && sinceBoot - before < SetChipEvery)
            return;
        _chipSetAt = sinceBoot;
        foreach (var chip in _chips)
            chip.Set(now);
    }
}
