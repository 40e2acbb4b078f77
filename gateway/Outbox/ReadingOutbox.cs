using System.Threading.Channels;
using Microsoft.Data.Sqlite;
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
internal sealed class ReadingOutbox : IDisposable
{
    private static readonly TimeSpan OpenAgainAfter = TimeSpan.FromMinutes(1);

    private readonly Lock _gate = new();
    private readonly Channel<bool> _arrived = Channel.CreateBounded<bool>(
        new BoundedChannelOptions(1) { FullMode = BoundedChannelFullMode.DropWrite });
    private readonly MemoryOutbox _memory;
    private readonly HashSet<long> _sentButThere = [];
    private readonly OutboxOptions _options;
    private readonly TimeProvider _time;
    private readonly ILogger<ReadingOutbox> _logger;
    private readonly string _path;
    private OutboxFile? _file;
    private long _triedToOpen;
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
            int stored, inMemory = 0;
            // While some wait in memory the new ones queue behind them, so that order holds.
            if (EmptyMemory_NeedsLock() && TryOnDisk_NeedsLock(file => file.Append(taken), out stored))
            {
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

    /// <summary>The first dated readings that wait, in order; they stay until <see cref="Remove"/>.</summary>
    public IReadOnlyList<OutboxEntry> Peek(int max)
    {
        lock (_gate)
        {
            // Entries the broker has, but the disk would not let go of, are stepped over.
            if (!TryOnDisk_NeedsLock(file => file.Peek(0, checked(max + _sentButThere.Count)), out var entries) || entries is null)
                entries = [];
            entries.RemoveAll(entry => _sentButThere.Contains(entry.Number));
            return [.. entries.Concat(_memory.Dated()).Take(max)];
        }
    }

    /// <summary>Lets go of readings the broker has acknowledged.</summary>
    public void Remove(IReadOnlyCollection<long> numbers)
    {
        lock (_gate)
        {
            _memory.Remove(numbers);
            _sentButThere.UnionWith(numbers.Where(number => number > 0));
            if (_sentButThere.Count > 0 && TryOnDisk_NeedsLock(file => { file.Remove(_sentButThere); return true; }, out _))
                _sentButThere.Clear();
        }
    }

    /// <summary>Puts readings aside that the server refuses for good, so that those behind them can go.</summary>
    public void SetAside(IReadOnlyCollection<long> numbers, string reason)
    {
        lock (_gate)
        {
            _memory.Remove(numbers);
            _ = TryOnDisk_NeedsLock(file => { file.SetAside(numbers, reason); return true; }, out _);
            _logger.Refused(_path, numbers.Count, reason);
        }
    }

    /// <summary>Dates what was held during this boot.</summary>
    /// <param name="boot">The boot.</param>
    /// <param name="bootedAt">When it began, by the calendar.</param>
    /// <param name="again">Also what was dated before, by a clock that turned out wrong.</param>
    /// <returns>How many readings were dated.</returns>
    public int Date(string boot, DateTimeOffset bootedAt, bool again = false)
    {
        lock (_gate)
        {
            var dated = _memory.Date(boot, bootedAt, again);
            if (TryOnDisk_NeedsLock(file => file.Date(boot, bootedAt, again), out var onDisk))
                dated += onDisk;
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

    /// <summary>The latest moment any reading of this gateway was dated with, sent or not; <c>null</c> when none was.</summary>
    public DateTimeOffset? LastDated()
    {
        lock (_gate)
            return TryOnDisk_NeedsLock(file => file.LastDated(), out var last) ? last : null;
    }

    /// <summary>Waits until something was appended or dated since the last wait.</summary>
    public async Task WaitAsync(CancellationToken cancellationToken) => await _arrived.Reader.ReadAsync(cancellationToken);

    public OutboxState State()
    {
        lock (_gate)
        {
            var counts = Enum.GetValues<OutboxCount>().ToDictionary(what => what, _ => 0L);
            (long Waiting, long Held, DateTimeOffset? Oldest, long Used) disk = default;
            if (TryOnDisk_NeedsLock(
                file => (file.Waiting(), file.Held(), file.Peek(0, 1).FirstOrDefault()?.Reading.MeasuredAt, file.UsedBytes(), Counts: file.Counts()),
                out var state))
            {
                disk = (state.Item1 - _sentButThere.Count, state.Item2, state.Item3, state.Item4);
                counts = state.Counts;
            }
            foreach (var (what, by) in _memory.Counts)
                counts[what] += by;
            return new OutboxState(disk.Waiting, disk.Held, _memory.Count, disk.Oldest ?? _memory.Dated().FirstOrDefault()?.Reading.MeasuredAt, disk.Used, _fault, counts);
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

    private bool TryOnDisk_NeedsLock<T>(Func<OutboxFile, T> work, out T? result)
    {
        result = default;
        if (_file is null && _time.GetElapsedTime(_triedToOpen) >= OpenAgainAfter)
            OpenFile_NeedsLock();
        if (_file is null)
            return false;
        try
        {
            result = work(_file);
            return true;
        }
        catch (SqliteException error) when (error.SqliteErrorCode is SqliteCodes.Corrupt or SqliteCodes.NotADatabase)
        {
            StartAfresh_NeedsLock(error.Message);
            if (_file is null)
                return false;
            result = work(_file);
            return true;
        }
        catch (SqliteException error)
        {
            Fault_NeedsLock(error);
            return false;
        }
    }

    private bool EmptyMemory_NeedsLock()
    {
        if (_memory is { Count: 0, Counts.Count: 0 })
            return true;
        var waiting = _memory.All();
        if (!TryOnDisk_NeedsLock(file => file.Append(waiting, _memory.Counts), out _))
            return false;
        _memory.Clear();
        _fault = null;
        _logger.DiskBack(_path, waiting.Count);
        return true;
    }

    private void OpenFile_NeedsLock()
    {
        _triedToOpen = _time.GetTimestamp();
        try
        {
            if (Path.GetDirectoryName(_path) is { Length: > 0 } folder)
                Directory.CreateDirectory(folder);
            _file = OutboxFile.Open(_path);
            _fault = null;
        }
        catch (SqliteException error) when (error.SqliteErrorCode is SqliteCodes.Corrupt or SqliteCodes.NotADatabase)
        {
            StartAfresh_NeedsLock(error.Message);
        }
        catch (Exception error) when (error is SqliteException or IOException or UnauthorizedAccessException)
        {
            Fault_NeedsLock(error);
        }
    }

    private void StartAfresh_NeedsLock(string detail)
    {
        _file?.Dispose();
        _file = null;
        _sentButThere.Clear();
        try
        {
            var setAside = DamagedFile.SetAside(_path, _time.GetUtcNow());
            var rescued = DamagedFile.Rescue(setAside);
            _file = OutboxFile.Open(_path);
            _file.Append(rescued, new Dictionary<OutboxCount, long> { [OutboxCount.DamagedFile] = 1, [OutboxCount.Rescued] = rescued.Count });
            _logger.FileDamaged(_path, detail, setAside, rescued.Count);
        }
        catch (Exception error) when (error is SqliteException or IOException or UnauthorizedAccessException)
        {
            Fault_NeedsLock(error);
        }
    }

    private void MakeRoom_NeedsLock()
    {
        if (_file is null || RoomBytes_NeedsLock(_file) is var room && _file.UsedBytes() <= room)
            return;
        long thinned = 0, givenUp = 0;
        _ = TryOnDisk_NeedsLock(
            file =>
            {
                // To nine tenths, so that this is rare; each step is one transaction of bounded size.
                while (file.UsedBytes() > room / 10 * 9 && file.MakeRoom(2000) is { Any: true } made)
                    (thinned, givenUp) = (thinned + made.Thinned, givenUp + made.GivenUp);
                return true;
            },
            out _);
        _logger.MadeRoom(_path, thinned, givenUp);
    }

    /// <summary>The setting, or less where the rest of the machine needs the disk; never under a megabyte.</summary>
    private long RoomBytes_NeedsLock(OutboxFile file)
    {
        var set = _options.MaxMegabytes * 1_000_000L;
        var free = new DriveInfo(Path.GetDirectoryName(_path)!).AvailableFreeSpace;
        return Math.Clamp(file.FileBytes() + free - _options.KeepFreeMegabytes * 1_000_000L, 1_000_000L, set);
    }

    private void Fault_NeedsLock(Exception error)
    {
        var fault = (error as SqliteException)?.SqliteErrorCode switch
        {
            SqliteCodes.Full => "the disk is full; delete what is not needed, or give the gateway a larger card",
            SqliteCodes.ReadOnly => "the file or its disk is read-only; a card does that when it is worn out: replace it, or mount it writable",
            SqliteCodes.CannotOpen => "the file cannot be opened; the service's user must own the folder",
            SqliteCodes.InputOutput => "the disk reports read or write errors; replace the card",
            _ => error.Message,
        };
        if (_fault != fault)
            _logger.DiskTakesNothing(_path, fault);
        _fault = fault;
    }
}
