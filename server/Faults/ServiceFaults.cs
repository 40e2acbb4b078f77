using System.Collections.Concurrent;
using PavementWatch.Dashboards.Faults;

namespace PavementWatch.Server.Faults;

/// <summary>Something of the running service that does not work and that a person should mend.</summary>
/// <param name="Key">Names the fault, low in number and the same each time it is raised, such as <c>store.full</c> or <c>clock.north-gate</c>.</param>
/// <param name="Words">Where, what was found, what was expected, and the remedy. For the business: no token, key, position or contact.</param>
/// <param name="Since">When it was first raised, UTC.</param>
/// <param name="FailsHealth">Whether <c>/health/ready</c> is not healthy for it: not where the server itself can do its work.</param>
internal sealed record ServiceFault(string Key, string Words, DateTimeOffset Since, bool FailsHealth = true);

/// <summary>The faults that stand now. Any part raises and ends its own; while one of the server stands <c>/health/ready</c> is not healthy, the
/// business page begins with each, and one that lasts is told to the business by mail and webhook.</summary>
/// <remarks>
/// Held in memory: what still is wrong after a restart is found and raised again. What only somebody who is away could say is over is raised
/// again by what was told of it, see <see cref="ToldBefore"/>.
/// </remarks>
internal sealed class ServiceFaults(TimeProvider time) : IStandingFaults
{
    private readonly ConcurrentDictionary<string, ServiceFault> _standing = new(StringComparer.Ordinal);

    private readonly ConcurrentDictionary<string, string> _toldBefore = new(StringComparer.Ordinal);

    /// <summary>Words of the faults that an earlier run has told and not ended, by their keys; those that were raised or ended since are none of them.</summary>
    public IReadOnlyDictionary<string, string> ToldBefore => _toldBefore;

    /// <summary>All that stand, the oldest first.</summary>
    public IReadOnlyList<ServiceFault> Standing => [.. _standing.Values.OrderBy(fault => fault.Since).ThenBy(fault => fault.Key, StringComparer.Ordinal)];

    /// <summary>Raises a fault, or takes newer words for one that stands.</summary>
    public void Raise(string key, string words, bool failsHealth = true)
    {
        ArgumentException.ThrowIfNullOrEmpty(key);
        ArgumentException.ThrowIfNullOrEmpty(words);
        var now = time.GetUtcNow();
        _toldBefore.TryRemove(key, out _);
        _standing.AddOrUpdate(key, _ => new ServiceFault(key, words, now, failsHealth), (_, before) => before with { Words = words });
    }

    /// <summary>Ends a fault; does nothing when it does not stand.</summary>
    public void End(string key)
    {
        _toldBefore.TryRemove(key, out _);
        _standing.TryRemove(key, out _);
    }

    /// <summary>Remembers what an earlier run has told and not ended.</summary>
    public void Remember(string key, string words)
    {
        if (!_standing.ContainsKey(key))
            _toldBefore[key] = words;
    }

    IReadOnlyList<StandingFault> IStandingFaults.All() => [.. Standing.Select(fault => new StandingFault(fault.Words, fault.Since))];
}
