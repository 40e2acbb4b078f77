namespace PavementWatch.Server.Notifications;

/// <summary>One message at a time to each device, in the order asked for, whoever sends it: an older one never arrives after a newer.</summary>
internal sealed class DeviceLocks
{
    private readonly Lock _lock = new();
    private readonly Dictionary<int, Task> _last = [];

    /// <summary>Waits until nothing is on its way to a device.</summary>
    /// <returns>The turn; the next one begins when it is disposed of.</returns>
    public async Task<IDisposable> TakeAsync(int device)
    {
        var turn = new Turn(this, device);
        Task before;
        lock (_lock)
        {
            before = _last.GetValueOrDefault(device, Task.CompletedTask);
            _last[device] = turn.Ended;
        }

        await before;
        return turn;
    }

    private void End(int device, Task turn)
    {
        lock (_lock)
        {
            if (_last[device] == turn)
                _last.Remove(device);
        }
    }

    private sealed class Turn(DeviceLocks turns, int device) : IDisposable
    {
        private readonly TaskCompletionSource _ended = new(TaskCreationOptions.RunContinuationsAsynchronously);

        public Task Ended => _ended.Task;

        public void Dispose()
        {
            turns.End(device, Ended);
            _ended.TrySetResult();
        }
    }
}
