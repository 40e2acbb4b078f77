namespace PavementWatch.Server.Watch;

/// <summary>Changes that are decided one after another and written together: what joins it while it is open waits until it is closed.</summary>
internal sealed class AlertBatch
{
    private readonly TaskCompletionSource _closed = new(TaskCreationOptions.RunContinuationsAsynchronously);
    private volatile bool _isOpen = true;

    public bool IsOpen => _isOpen;

    /// <summary>Ends when it is closed.</summary>
    public Task Closed => _closed.Task;

    /// <summary>From here on nothing waits for others. Whoever closes it has written what waits.</summary>
    public void Close()
    {
        _isOpen = false;
        // What joined before is seen by the one who writes next; what joins later sees that it is closed.
        Interlocked.MemoryBarrier();
        _closed.TrySetResult();
    }
}
