using Microsoft.Data.Sqlite;

namespace PavementWatch.Gateway.Outbox;

// What is done when the disk does not play along.
internal sealed partial class ReadingOutbox
{
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
        if (!TryOnDisk_NeedsLock(
            file =>
            {
                var stored = file.Append(waiting, _memory.Counts);
                if (_memory.IsHandedOver)
                    _handedOver = file.LastNumber();
                return stored;
            },
            out _))
            return false;
        _memory.Clear();
        DiskTakes_NeedsLock(waiting.Count);
        return true;
    }

    private void DiskTakes_NeedsLock(int waited)
    {
        if (_fault is null)
            return;
        _fault = null;
        _logger.DiskBack(_path, waited);
    }

    private void OpenFile_NeedsLock()
    {
        _triedToOpen = _time.GetTimestamp();
        try
        {
            if (Path.GetDirectoryName(_path) is { Length: > 0 } folder)
                Directory.CreateDirectory(folder);
            _file = OutboxFile.Open(_path);
            _handedOver = _file.HandedOver();
            _file.NoteHandedOver(_handedOver);
            _handsOver = false;
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
        (_handedOver, _handsOver, _passedOver) = (0, false, 0);
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
