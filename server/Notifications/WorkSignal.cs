namespace PavementWatch.Server.Notifications;

/// <summary>Lets one loop sleep until somebody calls or a time has passed.</summary>
internal sealed class WorkSignal
{
    private TaskCompletionSource _called = New();

    public void Call() => Volatile.Read(ref _called).TrySetResult();

    /// <summary>Returns when <see cref="Call"/> was called since the last return, or after the pause.</summary>
    public async Task WaitAsync(TimeSpan pause, TimeProvider time, CancellationToken cancellationToken)
    {
        try
        {
            await Volatile.Read(ref _called).Task.WaitAsync(pause, time, cancellationToken);
        }
        catch (TimeoutException)
        {
            return;
        }

        Volatile.Write(ref _called, New());
    }

    private static TaskCompletionSource New() => new(TaskCreationOptions.RunContinuationsAsynchronously);
}
