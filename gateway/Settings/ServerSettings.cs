using System.Text.Json;
using Microsoft.Extensions.Options;
using PavementWatch.Core.Wire;
using PavementWatch.Gateway.Outbox;
using PavementWatch.Gateway.Spots;

namespace PavementWatch.Gateway.Settings;

/// <summary>The spots' settings in use: the gateway's own, changed by the last good message of the server.</summary>
/// <remarks>
/// A message is looked at whole before any of it is used; a bad one changes nothing and its fault goes into the
/// status. The last good one is kept beside the outbox, so a gateway that starts without a network has it. While the
/// card does not take it, it is tried again: by what is kept, perhaps a higher limit, a start without a network would go.
/// </remarks>
internal sealed class ServerSettings : IDisposable
{
    private static readonly TimeSpan FirstPause = TimeSpan.FromMinutes(1);
    private static readonly TimeSpan LongestPause = TimeSpan.FromHours(1);

    private static readonly Dictionary<string, SpotEstimate> NoEstimates = [];

    private readonly SpotTable _own;
    private readonly IValidateOptions<SpotTable> _validator;
    private readonly ILogger<ServerSettings> _logger;
    private readonly string _file;
    private readonly Lock _keeping = new();
    private readonly ITimer _again;
    private TimeSpan _pause;
    private byte[]? _toKeep;
    private volatile string? _diskFault;
    private volatile InUse _inUse;

    public ServerSettings(
        IOptions<SpotTable> own, IValidateOptions<SpotTable> validator, IOptions<OutboxOptions> outbox, TimeProvider time, ILogger<ServerSettings> logger)
    {
        (_own, _validator, _logger) = (own.Value, validator, logger);
        _file = Path.Combine(Path.GetDirectoryName(Path.GetFullPath(outbox.Value.Path))!, "server-settings.json");
        _inUse = new InUse(_own, _own.Keys, NoEstimates, null, null);
        _again = time.CreateTimer(_ => TryAgain(), null, Timeout.InfiniteTimeSpan, Timeout.InfiniteTimeSpan);
        ReadKept();
    }

    /// <summary>Told when <see cref="DiskFault"/> has changed by itself.</summary>
    public event Action? DiskFaultChanged;

    /// <summary>The spots as they are to be sampled now; another object after each change, the same while nothing of them changes.</summary>
    public SpotTable Spots => _inUse.Spots;

    /// <summary>Names of the spots that are this gateway's by the server's settings, also those it does not know itself; its own without any.</summary>
    public IReadOnlyCollection<string> ToMeasure => _inUse.ToMeasure;

    /// <summary>The server's word for spots that give no readings, by their names; each says itself whether it is still fresh.</summary>
    public IReadOnlyDictionary<string, SpotEstimate> Estimates => _inUse.Estimates;

    /// <summary>Version of the server's settings in use; <c>null</c> without any.</summary>
    public string? Version => _inUse.Version;

    /// <summary>Why the last message was not taken; <c>null</c> when it was.</summary>
    public string? Fault => _inUse.Fault;

    /// <summary>Why the card does not have what is in use, and what that means; <c>null</c> when it has. Tried again until it has.</summary>
    public string? DiskFault => _diskFault;

    /// <summary>Takes a message of the settings topic. Empty takes the server's settings away.</summary>
    public void Receive(byte[] message) => Take(message, keep: true);

    /// <summary>Takes what was kept; the file is a copy of what the server says anyway, so one that cannot be read stops nothing.</summary>
    private void ReadKept()
    {
        try
        {
            if (!File.Exists(_file))
                return;
            var kept = new byte[GatewaySettings.MaxBytes + 1];
            using var file = File.OpenRead(_file);
            var length = file.ReadAtLeast(kept, kept.Length, throwOnEndOfStream: false);
            if (length == kept.Length)
                throw new IOException($"it has more than {GatewaySettings.MaxBytes} B");
            // An empty file is no word of the server to forget its settings.
            if (length > 0)
                Take(kept[..length], keep: false);
        }
        catch (Exception error) when (error is IOException or UnauthorizedAccessException)
        {
            var fault = $"{_file} cannot be read ({error.Message.TrimEnd('.')}); the gateway's own settings are in use until the server sends its own again";
            _logger.KeptSettingsUnreadable(fault);
            _inUse = _inUse with { Fault = fault };
        }
    }

    private void Take(byte[] message, bool keep)
    {
        if (message.Length == 0)
        {
            _inUse = new InUse(_own, _own.Keys, NoEstimates, null, null);
            Keep(message);
            _logger.SettingsTakenAway();
            return;
        }
        switch (Read(message))
        {
            case (_, { } fault):
                _logger.SettingsRefused(fault);
                _inUse = _inUse with { Fault = fault };
                break;
            case ({ } taken, null) when taken.Version == Version && Fault is null:
                // Only estimates are new, which are old before the next start: the card is spared.
                _inUse = taken;
                break;
            case ({ } taken, null):
                _inUse = taken;
                if (keep)
                    Keep(message);
                _logger.SettingsTaken(taken.Version!);
                foreach (var (name, spot) in taken.Spots.Where(spot => spot.Value.EmissivityFraction is null && _own[spot.Key].EmissivityFraction is not null))
                    _logger.OwnEmissivityPassedOver(name, _own[name].EmissivityFraction!.Value, _own[name].Surface, spot.Surface, spot.Emissivity());
                break;
        }
    }

    private (InUse? Taken, string? Fault) Read(byte[] message)
    {
        if (message.Length > GatewaySettings.MaxBytes)
            return (null, $"settings are {message.Length} B, expected at most {GatewaySettings.MaxBytes}");
        GatewaySettings settings;
        try
        {
            settings = GatewaySettings.Read(message);
        }
        catch (JsonException error)
        {
            return (null, $"settings cannot be read: {error.Message}");
        }
        // Most messages bring nothing but new estimates; whoever samples must not notice these.
        var spots = new SpotTable();
        foreach (var (spot, own) in _own)
            spots.Add(spot, settings.Spots.TryGetValue(spot, out var set) ? Changed(own, set) : own);
        var judged = _validator.Validate(null, spots);
        return judged.Failed
            ? (null, $"settings {settings.Version}: {string.Join("; ", judged.Failures)}")
            : (new InUse(AreEqual(spots, Spots) ? Spots : spots, [.. settings.Spots.Keys], settings.Estimates ?? NoEstimates, settings.Version, null), null);
    }

    private static bool AreEqual(SpotTable one, SpotTable other) =>
        one.Count == other.Count && one.All(spot => other.TryGetValue(spot.Key, out var same) && same == spot.Value);

    // The card's emissivity is that of the ground the card names: it says nothing of another.
    private static SpotOptions Changed(SpotOptions own, SpotSettings set) => own with
    {
        Surface = set.Surface ?? own.Surface,
        EmissivityFraction = set.EmissivityFraction ?? (set.Surface is null || set.Surface == own.Surface ? own.EmissivityFraction : null),
        OpenSkyFraction = set.OpenSkyFraction ?? own.OpenSkyFraction,
        LimitCelsius = set.LimitCelsius ?? own.LimitCelsius,
    };

    public void Dispose() => _again.Dispose();

    /// <summary>Brings a message onto the card, an empty one by removing what is there; now, or as soon as the card takes it.</summary>
    private void Keep(byte[] message)
    {
        lock (_keeping)
        {
            (_toKeep, _pause) = (message, FirstPause);
            TryToKeep_NeedsLock();
        }
    }

    private void TryAgain()
    {
        var before = _diskFault;
        lock (_keeping)
        {
            if (_toKeep is null)
                return;
            TryToKeep_NeedsLock();
        }

        if (_diskFault != before)
            DiskFaultChanged?.Invoke();
    }

    private void TryToKeep_NeedsLock()
    {
        if ((_toKeep!.Length == 0 ? Remove() : Write(_toKeep)) is not { } detail)
        {
            _toKeep = null;
            if (_diskFault is not null)
                _logger.SettingsKept(_file);
            _diskFault = null;
            return;
        }

        var fault = $"{_file} is not as the server's settings are ({detail.TrimEnd('.')}): after a start without a network older ones are in use, perhaps a higher limit. "
            + "Make room on the card or replace it; it is tried again";
        if (_diskFault != fault)
            _logger.SettingsNotKept(fault);
        _diskFault = fault;
        _again.Change(_pause, Timeout.InfiniteTimeSpan);
        _pause = _pause * 2 < LongestPause ? _pause * 2 : LongestPause;
    }

    private string? Remove()
    {
        try
        {
            File.Delete(_file);
            return null;
        }
        catch (Exception error) when (error is IOException or UnauthorizedAccessException)
        {
            return error.Message;
        }
    }

    /// <summary>Writes beside and renames, so that a cut supply leaves the old file or the new one.</summary>
    private string? Write(byte[] message)
    {
        try
        {
            Directory.CreateDirectory(Path.GetDirectoryName(_file)!);
            using (var file = File.Create(_file + ".new"))
            {
                file.Write(message);
                file.Flush(flushToDisk: true);
            }
            File.Move(_file + ".new", _file, overwrite: true);
            return null;
        }
        catch (Exception error) when (error is IOException or UnauthorizedAccessException)
        {
            return error.Message;
        }
    }

    private sealed record InUse(SpotTable Spots, IReadOnlyCollection<string> ToMeasure, IReadOnlyDictionary<string, SpotEstimate> Estimates, string? Version, string? Fault);
}
