namespace PavementWatch.Server.Notifications.WebPush;

/// <summary>A message that is due.</summary>
/// <param name="Id">The message.</param>
/// <param name="SubscriptionId">The device it is for.</param>
/// <param name="Endpoint">Where the device's push service takes it.</param>
/// <param name="Attempts">How often it was tried.</param>
/// <param name="CreatedAt">When it was decided.</param>
internal sealed record DueMessage(Guid Id, int SubscriptionId, string Endpoint, int Attempts, DateTimeOffset CreatedAt);

/// <summary>What waits for one push service: a few at a time, first attempts before repeats, so that a slow service holds only itself.</summary>
/// <param name="atOnce">How many are on their way at most.</param>
/// <param name="send">Sends one; never throws.</param>
internal sealed class PushLane(int atOnce, Func<DueMessage, Task> send)
{
    private readonly PriorityQueue<DueMessage, (bool Repeated, DateTimeOffset CreatedAt)> _waiting = new();
    private readonly Lock _lock = new();
    private int _workers;
    private TaskCompletionSource? _ended;

    /// <summary>Takes a message; it is sent when those before it have left room.</summary>
    public void Add(DueMessage message)
    {
        lock (_lock)
        {
            _waiting.Enqueue(message, (message.Attempts > 0, message.CreatedAt));
            if (_workers == atOnce)
                return;
            _workers++;
        }

        _ = Task.Run(WorkAsync);
    }

    /// <summary>Lets go of what has not begun, and waits for what has.</summary>
    public Task EndAsync()
    {
        lock (_lock)
        {
            _waiting.Clear();
            if (_workers == 0)
                return Task.CompletedTask;
            _ended = new TaskCompletionSource(TaskCreationOptions.RunContinuationsAsynchronously);
            return _ended.Task;
        }
    }

    private async Task WorkAsync()
    {
        while (true)
        {
            DueMessage? next;
            lock (_lock)
            {
                if (!_waiting.TryDequeue(out next, out _))
                {
                    if (--_workers == 0)
                        _ended?.TrySetResult();
                    return;
                }
            }

            await send(next);
        }
    }
}
