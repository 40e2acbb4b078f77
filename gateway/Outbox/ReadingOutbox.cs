using System.Threading.Channels;
using Microsoft.Extensions.Options;

namespace PavementWatch.Gateway.Outbox;

/// <summary>
/// Readings between the sampling and the broker: in order, each (spot, time) once, durable before anything is sent,
/// and there until the broker has acknowledged them.
/// </summary>
/// <remarks>
/// What happens when the world does not play along: a damaged file is set aside and read as far as possible; a disk
/// that is full or read-only is said so and readings wait in memory; past its room the oldest become ten-minute
/// means, and only when all are means are the oldest given up. Everything that goes another way than to the broker
/// is counted, and the counts survive a restart. Safe for any thread.
/// </remarks>
internal sealed partial class ReadingOutbox : IDisposable
{
    private static readonly TimeSpan OpenAgainAfter = TimeSpan.FromMinutes(1);

    // A clock is set by somebody who has read the warning: minutes are soon enough.
    private static readonly TimeSpan PutOffFor = TimeSpan.FromMinutes(10);

    private readonly Lock _gate = new();
    private readonly Channel<bool> _arrived = Channel.CreateBounded<bool>(
        new BoundedChannelOptions(1) { FullMode = BoundedChannelFullMode.DropWrite });
    private readonly MemoryOutbox _memory;
    private readonly HashSet<long> _sentButThere = [];
    private readonly Dictionary<long, string> _refusedButThere = [];
    private readonly OutboxOptions _options;
    private readonly TimeProvider _time;
    private readonly ILogger<ReadingOutbox> _logger;
    private readonly string _path;
    private OutboxFile? _file;
    private long _triedToOpen;
    private long _handedOver;
    private bool _handsOver;
    private long _passedOver;
    private long? _putOffAt;
    private long? _afreshAt;
    private bool _toRescue;
    private string? _fault;

    public ReadingOutbox(IOptions<OutboxOptions> options, TimeProvider time, ILogger<ReadingOutbox> logger)
    {
        _options = options.Value;
        _time = time;
        _logger = logger;
        _path = Path.GetFullPath(_options.Path);
        _memory = new MemoryOutbox(_options.MemoryReadings);
        lock (_gate)
            OpenFile_NeedsLock();
        _arrived.Writer.TryWrite(true);
    }

    /// <summary>Stores readings; when this returns they are durable, unless the outcome says that they are in memory.</summary>
    public AppendOutcome Append(IReadOnlyList<TakenReading> taken)
    {
        lock (_gate)
        {
            if (_toRescue)
                _ = TryOnDisk_NeedsLock(file => { Rescue_NeedsLock(file, "the disk took it only now"); return true; }, out _);
            int stored, inMemory = 0;
            // While some wait in memory the new ones queue behind them, so that order holds.
            if (EmptyMemory_NeedsLock() && TryOnDisk_NeedsLock(file => file.Append(taken), out stored))
            {
                DiskTakes_NeedsLock(waited: 0);
                MakeRoom_NeedsLock();
            }
            else
            {
                stored = inMemory = _memory.Add(taken);
            }
            _arrived.Writer.TryWrite(true);
            return new AppendOutcome(stored - inMemory, taken.Count - stored, inMemory);
        }
    }

    /// <summary>The first dated readings that wait, in order; they stay until <see cref="Remove"/>. Those put off are passed over for ten minutes.</summary>
    public IReadOnlyList<OutboxEntry> Peek(int max)
    {
        lock (_gate)
        {
            if (_putOffAt is { } since && _time.GetElapsedTime(since) >= PutOffFor)
                (_passedOver, _putOffAt) = (0, null);
            // Entries the broker has, but the disk would not let go of, are stepped over.
            if (!TryOnDisk_NeedsLock(file => file.Peek(_passedOver, checked(max + _sentButThere.Count + _refusedButThere.Count)), out var entries) || entries is null)
                entries = [];
            entries.RemoveAll(entry => _sentButThere.Contains(entry.Number) || _refusedButThere.ContainsKey(entry.Number));
            return [.. entries.Concat(_memory.Dated().Where(entry => _putOffAt is null || !_memory.IsPutOff(entry.Number))).Take(max)];
        }
    }

    /// <summary>Notes that readings are about to go to the broker: whatever becomes of its answer, they keep the date they went with.</summary>
    /// <remarks>Dated anew and sent again they would be stored twice, where the first pack arrived and only its acknowledgement was lost.</remarks>
    public void HandOver(IReadOnlyCollection<long> numbers)
    {
        lock (_gate)
        {
            _memory.HandOver(numbers);
            _handedOver = Math.Max(_handedOver, numbers.Max());
            // Once a start is enough: what it leaves behind may have been sent, all of it.
            _handsOver = _handsOver || TryOnDisk_NeedsLock(file => { file.NoteHandedOver(null); return true; }, out _);
        }
    }

    /// <summary>Lets go of readings the broker has acknowledged.</summary>
    public void Remove(IReadOnlyCollection<long> numbers)
    {
        lock (_gate)
        {
            _memory.Remove(numbers);
            _sentButThere.UnionWith(numbers.Where(number => number > 0));
            LetGo_NeedsLock();
        }
    }

    /// <summary>Puts readings aside that the server refuses for good, so that those behind them can go.</summary>
    public void SetAside(IReadOnlyCollection<long> numbers, string reason)
    {
        lock (_gate)
        {
            _memory.Remove(numbers);
            _memory.Bump(OutboxCount.Refused, numbers.Count(number => number < 0));
            foreach (var number in numbers.Where(number => number > 0))
                _refusedButThere[number] = reason;
            // A disk that takes nothing must not bring them back to the head of the queue, to be sent and refused for ever.
            LetGo_NeedsLock();
            _logger.Refused(_path, numbers.Count, reason);
        }
    }

    /// <summary>Passes over readings that the server does not take with their dates, and everything before them, for ten minutes.</summary>
    /// <remarks>Given in the order of <see cref="Peek"/>, what comes before them has gone or was put off too.</remarks>
    public void PutOff(IReadOnlyCollection<long> numbers, string reason)
    {
        lock (_gate)
        {
            if (_putOffAt is null)
            {
                _putOffAt = _time.GetTimestamp();
                _logger.PutOff(_path, reason);
            }

            _memory.PutOff(numbers);
            var onDisk = numbers.Where(number => number > 0).ToList();
            if (onDisk.Count == 0)
                return;
            _passedOver = Math.Max(_passedOver, onDisk.Max());
            _ = TryOnDisk_NeedsLock(file => { file.PutOff(onDisk); return true; }, out _);
        }
    }

    /// <summary>Dates what was held during this boot.</summary>
    /// <param name="boot">The boot.</param>
    /// <param name="bootedAt">When it began, by the calendar.</param>
    /// <param name="again">Also what was dated before, by a clock that turned out wrong, and not handed over yet.</param>
    /// <returns>How many readings were dated.</returns>
    public int Date(string boot, DateTimeOffset bootedAt, bool again = false)
    {
        lock (_gate)
        {
            var dated = _memory.Date(boot, bootedAt, again);
            if (TryOnDisk_NeedsLock(file => file.Date(boot, bootedAt, again, _handedOver), out var onDisk))
                dated += onDisk;
            // With other dates they may be taken.
            (_passedOver, _putOffAt) = (0, null);
            _logger.Dated(boot, bootedAt, dated);
            _arrived.Writer.TryWrite(true);
            return dated;
        }
    }

    /// <summary>Gives up what was held during earlier boots; counted.</summary>
    public void GiveUpUndatable(string currentBoot)
    {
        lock (_gate)
        {
            if (TryOnDisk_NeedsLock(file => file.GiveUpUndatable(currentBoot), out var gone) && gone > 0)
                _logger.Undatable(_path, gone);
        }
    }

    /// <summary>Asks for the latest moment any reading of this gateway was dated with, sent or not; <c>null</c> when none was.</summary>
    /// <returns>Whether the disk could tell.</returns>
    public bool TryLastDated(out DateTimeOffset? last)
    {
        lock (_gate)
            return TryOnDisk_NeedsLock(file => file.LastDated(), out last);
    }

    /// <summary>Waits until something was appended or dated since the last wait.</summary>
    public async Task WaitAsync(CancellationToken cancellationToken) => await _arrived.Reader.ReadAsync(cancellationToken);

    public OutboxState State()
    {
        lock (_gate)
        {
            var counts = Enum.GetValues<OutboxCount>().ToDictionary(what => what, _ => 0L);
            (long Waiting, long Held, DateTimeOffset? Oldest, long Used, long PutOff) disk = default;
            if (TryOnDisk_NeedsLock(
                file => (file.Waiting(), file.Held(), file.Peek(0, 1).FirstOrDefault()?.Reading.MeasuredAt, file.UsedBytes(), Counts: file.Counts(), file.CountPutOff()),
                out var state))
            {
                disk = (state.Item1 - _sentButThere.Count - _refusedButThere.Count, state.Item2, state.Item3, state.Item4, state.Item6);
                counts = state.Counts;
            }
            foreach (var (what, by) in _memory.Counts)
                counts[what] += by;
            return new OutboxState(disk.Waiting, disk.Held, _memory.Count, disk.Oldest ?? _memory.Dated().FirstOrDefault()?.Reading.MeasuredAt, disk.Used, _fault, counts)
            {
                PutOff = disk.PutOff + _memory.PutOffCount,
            };
        }
    }

    public void Dispose()
    {
        lock (_gate)
        {
            _file?.Dispose();
            _file = null;
        }
    }
}
