using PavementWatch.Server.Faults;

namespace PavementWatch.Server.Store;

/// <summary>Whether what comes in can be kept: told from what the last commit, the last probe of the disk and each question came to, and named among the faults.</summary>
internal sealed class StoreCondition(ServiceFaults faults)
{
    /// <summary>Fault of a disk without room.</summary>
    public const string Full = "store.full";

    /// <summary>Fault of a store that takes nothing for another reason.</summary>
    public const string Write = "store.write";

    /// <summary>Fault of a damaged file; stands until the server is started anew, for what is damaged does not mend.</summary>
    public const string Damaged = "store.damaged";

    /// <summary>Good probes in a row that speak for a disk whose last commit found no room, when no commit comes to tell.</summary>
    public const int ProbesUntilTrusted = 3;

    private const string Meanwhile = "Readings wait at the gateways, and warnings are judged and sent all the same";

    private const string MeanwhileDamaged = "What the file does not take is set aside, and warnings are judged and sent all the same";

    private readonly Lock _lock = new();
    private readonly HashSet<string> _raised = [];
    private (StoreFault Fault, string Words)? _commit;
    private (StoreFault Fault, string Words)? _probe;
    private string? _damaged;
    private int _goodProbes;

    /// <summary>A commit is on the disk.</summary>
    public void Committed() => Change(() => _commit = null);

    /// <summary>A commit failed.</summary>
    public void NotCommitted(ReadingStoreException failure) => Change(() =>
    {
        _goodProbes = 0;
        _commit = (failure.Fault, failure.Message);
        if (failure.Fault == StoreFault.Damaged)
            _damaged = failure.Message;
    });

    /// <summary>A question was not answered; only damage says anything of what comes in.</summary>
    public void NotRead(ReadingStoreException failure) => Change(() =>
    {
        if (failure.Fault == StoreFault.Damaged)
            _damaged = failure.Message;
    });

    /// <summary>The disk took a probe.</summary>
    public void Probed() => Change(() =>
    {
        _probe = null;
        if (_commit?.Fault == StoreFault.Full && ++_goodProbes >= ProbesUntilTrusted)
            _commit = null;
    });

    /// <summary>The disk took no probe.</summary>
    public void NotProbed(StoreFault fault, string words) => Change(() =>
    {
        _goodProbes = 0;
        _probe = (fault, words);
    });

    private void Change(Action change)
    {
        lock (_lock)
        {
            change();
            Tell(Full, Words(StoreFault.Full));
            Tell(Write, Words(StoreFault.Other));
            Tell(Damaged, _damaged);
        }
    }

    private string? Words(StoreFault fault) =>
        _probe is { } probe && probe.Fault == fault ? probe.Words : _commit is { } commit && commit.Fault == fault ? commit.Words : null;

    // Ends what it raised itself, and nothing that others found.
    private void Tell(string key, string? words)
    {
        if (words is not null)
        {
            _raised.Add(key);
            faults.Raise(key, $"{words}. {(key == Damaged ? MeanwhileDamaged : Meanwhile)}");
        }
        else if (_raised.Remove(key))
        {
            faults.End(key);
        }
    }
}
