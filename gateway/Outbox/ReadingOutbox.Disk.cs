using Microsoft.Data.Sqlite;

namespace PavementWatch.Gateway.Outbox;

// What is done when the disk does not play along.
internal sealed partial class ReadingOutbox
{
    private const string FullDisk = "the disk is full; delete what is not needed, or give the gateway a larger card";

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
        catch (SqliteException error) when (SqliteCodes.IsUnfit(error) && MayStartAfresh)
        {
            StartAfresh_NeedsLock(error);
            if (_file is null)
                return false;
            try
            {
                result = work(_file);
                return true;
            }
            catch (SqliteException again)
            {
                Fault_NeedsLock(again);
                return false;
            }
        }
        catch (Exception error) when (error is SqliteException or IOException or UnauthorizedAccessException)
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
            if (GatewayFileRights.Tighten(_path) is { } open)
                _logger.OpenToOthers(open);
            _file = OutboxFile.Open(_path);
            _handedOver = _file.HandedOver();
            _file.NoteHandedOver(_handedOver);
            _handsOver = false;
            // What an earlier start set aside and did not bring over: it was killed, or the disk was full.
            Rescue_NeedsLock(_file, "an earlier start found it so");
        }
        catch (SqliteException error) when (SqliteCodes.IsUnfit(error) && MayStartAfresh)
        {
            StartAfresh_NeedsLock(error);
        }
        catch (Exception error) when (error is SqliteException or IOException or UnauthorizedAccessException)
        {
            Fault_NeedsLock(error);
        }
    }

    /// <summary>A file made a minute ago that does not do either is no reason to make another: something else is wrong.</summary>
    private bool MayStartAfresh => _afreshAt is not { } since || _time.GetElapsedTime(since) >= OpenAgainAfter;

    private void StartAfresh_NeedsLock(SqliteException why)
    {
        _afreshAt = _time.GetTimestamp();
        _file?.Dispose();
        _file = null;
        _sentButThere.Clear();
        _refusedButThere.Clear();
        (_handedOver, _handsOver, _passedOver) = (0, false, 0);
        try
        {
            SetAsideFile.SetAside(_path, SqliteCodes.IsDamaged(why), _time.GetUtcNow());
            _file = OutboxFile.Open(_path);
            _file.NumberFrom(_time.GetUtcNow().ToUnixTimeMilliseconds());
            Rescue_NeedsLock(_file, why.Message);
        }
        catch (Exception error) when (error is SqliteException or IOException or UnauthorizedAccessException)
        {
            Fault_NeedsLock(error);
        }
    }

    /// <summary>Brings over what can be read of the files set aside; each keeps its name until that is done.</summary>
    private void Rescue_NeedsLock(OutboxFile file, string detail)
    {
        _toRescue = true;
        foreach (var name in SetAsideFile.ToRescue(_path))
        {
            var isDamaged = SetAsideFile.IsDamaged(name);
            var rescued = 0L;
            foreach (var batch in SetAsideFile.Read(name))
                rescued += file.Append(batch);
            if (SetAsideFile.LastDated(name) is { } last)
                file.NoteLastDated(last);
            file.Append([], new Dictionary<OutboxCount, long> { [isDamaged ? OutboxCount.DamagedFile : OutboxCount.OtherEdition] = 1, [OutboxCount.Rescued] = rescued });
            var kept = SetAsideFile.Finish(name);
            if (isDamaged)
                _logger.FileDamaged(_path, detail, kept, rescued);
            else
                _logger.FileOfOtherEdition(_path, detail, kept, rescued);
        }

        SetAsideFile.Prune(_path, _options.MaxMegabytes * 1_000_000L / 4);
        _toRescue = false;
    }

    /// <summary>Lets go on disk of what the broker has, and puts aside what it refuses; tried again with the next if the disk does not take it.</summary>
    private void LetGo_NeedsLock()
    {
        if (_sentButThere.Count > 0 && TryOnDisk_NeedsLock(file => { file.Remove(_sentButThere); return true; }, out _))
            _sentButThere.Clear();
        foreach (var (reason, numbers) in _refusedButThere.ToLookup(one => one.Value, one => one.Key).Select(group => (group.Key, group.ToList())))
        {
            if (TryOnDisk_NeedsLock(file => { file.SetAside(numbers, reason); return true; }, out _))
                numbers.ForEach(number => _refusedButThere.Remove(number));
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

    private bool IsFull()
    {
        try
        {
            return new DriveInfo(Path.GetDirectoryName(_path)!).AvailableFreeSpace < 100_000;
        }
        catch (Exception error) when (error is IOException or UnauthorizedAccessException)
        {
            return false;
        }
    }

    private void Fault_NeedsLock(Exception error)
    {
        var fault = (error as SqliteException)?.SqliteErrorCode switch
        {
            SqliteCodes.Full => FullDisk,
            SqliteCodes.ReadOnly => "the file or its disk is read-only; a card does that when it is worn out: replace it, or mount it writable",
            SqliteCodes.CannotOpen => "the file cannot be opened; the service's user must own the folder",
            // Where SQLite cannot even make its log it reports an error of the disk.
            SqliteCodes.InputOutput when IsFull() => FullDisk,
            SqliteCodes.InputOutput => "the disk reports read or write errors; replace the card",
            _ => error.Message,
        };
        if (_fault != fault)
            _logger.DiskTakesNothing(_path, fault);
        _fault = fault;
    }
}
