using System.Collections.Concurrent;

namespace PavementWatch.Server.Ingest;

/// <summary>Keeps the log short while somebody does again and again what is worth a line, such as sending what is refused: the first of a kind is told at once, the others of a minute as a count.</summary>
/// <remarks>A kind is who and why. Before, 12 000 bad packs a second wrote 46 MB in 15 s. Memory is bounded: past that many, strangers are one.</remarks>
internal sealed class RefusalLog : IDisposable
{
    private const int MostKinds = 1000;

    /// <summary>How long a kind is counted before it is told again.</summary>
    public static readonly TimeSpan Span = TimeSpan.FromMinutes(1);

    private readonly ConcurrentDictionary<(string Who, string Reason), Counted> _kinds = new();
    private readonly ILogger<RefusalLog> _logger;
    private readonly ITimer _timer;

    public RefusalLog(TimeProvider time, ILogger<RefusalLog> logger)
    {
        _logger = logger;
        _timer = time.CreateTimer(_ => TellCounts(), null, Span, Span);
    }

    /// <summary>Whether this one is to be told; else it is counted.</summary>
    public bool IsNews(string who, string reason)
    {
        if (_kinds.Count >= MostKinds && !_kinds.ContainsKey((who, reason)))
            who = "others";
        var counted = _kinds.GetOrAdd((who, reason), static _ => new Counted());
        return Interlocked.Increment(ref counted.Count) == 1;
    }

    public void Dispose() => _timer.Dispose();

    private void TellCounts()
    {
        foreach (var (kind, counted) in _kinds)
        {
            // One more may come while it is taken off; it is then the first of its kind again, and told.
            _kinds.TryRemove(kind, out _);
            if (Volatile.Read(ref counted.Count) is > 1 and var count)
                Log.Repeated(_logger, kind.Who, kind.Reason, count - 1);
        }
    }

    private sealed class Counted
    {
        public long Count;
    }
}
