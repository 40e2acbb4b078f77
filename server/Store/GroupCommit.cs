using System.Threading.Channels;

namespace PavementWatch.Server.Store;

/// <summary>
/// The one writer of a store. Takes whatever batches are queued, writes them in one commit, and then answers each of
/// them: under load many senders share the cost of one disk flush, and alone nobody waits for company.
/// </summary>
internal sealed class GroupCommit : IAsyncDisposable
{
    private readonly Func<IReadOnlyList<StoredReading>, Task<IReadOnlyList<bool>>> _commit;
    private readonly Channel<Batch> _queue;
    private readonly int _readingsPerCommit;
    private readonly Task _loop;

    /// <param name="commit">Makes the readings durable, or throws and leaves none; answers which of them were new.</param>
    /// <param name="queuedBatches">Batches that may wait; further senders wait to queue theirs.</param>
    /// <param name="readingsPerCommit">Commits are closed at this many readings; a single larger batch is still one commit.</param>
    public GroupCommit(
        Func<IReadOnlyList<StoredReading>, Task<IReadOnlyList<bool>>> commit, int queuedBatches, int readingsPerCommit)
    {
        _commit = commit;
        _readingsPerCommit = readingsPerCommit;
        _queue = Channel.CreateBounded<Batch>(
            new BoundedChannelOptions(queuedBatches) { FullMode = BoundedChannelFullMode.Wait, SingleReader = true });
        _loop = Task.Run(RunAsync);
    }

    /// <summary>Queues a batch and returns after its commit.</summary>
    /// <returns>The readings that were new, in the batch's order.</returns>
    /// <exception cref="OperationCanceledException">Cancelled; a batch already queued is written all the same.</exception>
    public async Task<IReadOnlyList<StoredReading>> AppendAsync(
        IReadOnlyList<StoredReading> readings, CancellationToken cancellationToken)
    {
        if (readings.Count == 0)
            return [];
        var batch = new Batch(readings);
        try
        {
            await _queue.Writer.WriteAsync(batch, cancellationToken);
        }
        catch (ChannelClosedException closed)
        {
            throw new ReadingStoreException("the store is closing; send the readings again after the restart", closed);
        }

        return await batch.Done.Task.WaitAsync(cancellationToken);
    }

    /// <summary>Writes what is queued, then ends.</summary>
    public async ValueTask DisposeAsync()
    {
        _queue.Writer.TryComplete();
        await _loop;
    }

    private async Task RunAsync()
    {
        var group = new List<Batch>();
        var readings = new List<StoredReading>();
        while (await _queue.Reader.WaitToReadAsync())
        {
            group.Clear();
            readings.Clear();
            while (_queue.Reader.TryPeek(out var next)
                && (group.Count == 0 || readings.Count + next.Readings.Count <= _readingsPerCommit)
                && _queue.Reader.TryRead(out var batch))
            {
                group.Add(batch);
                readings.AddRange(batch.Readings);
            }

            await CommitAsync(group, readings);
        }
    }

    private async Task CommitAsync(List<Batch> group, List<StoredReading> readings)
    {
        try
        {
            var isNew = await _commit(readings);
            var at = 0;
            foreach (var batch in group)
            {
                var added = new List<StoredReading>(batch.Readings.Count);
                foreach (var reading in batch.Readings)
                {
                    if (isNew[at++])
                        added.Add(reading);
                }

                batch.Done.TrySetResult(added);
            }
        }
#pragma warning disable CA1031 // Whatever went wrong belongs to the senders of this group; the next group is tried afresh.
        catch (Exception failure)
#pragma warning restore CA1031
        {
            if (failure is ReadingStoreException { Fault: StoreFault.Damaged } && group.Count > 1)
            {
                // Damage has a place: what belongs elsewhere is not to suffer for it.
                foreach (var batch in group)
                    await CommitAsync([batch], [.. batch.Readings]);
                return;
            }

            foreach (var batch in group)
                batch.Done.TrySetException(failure);
        }
    }

    private sealed record Batch(IReadOnlyList<StoredReading> Readings)
    {
        public TaskCompletionSource<IReadOnlyList<StoredReading>> Done { get; } =
            new(TaskCreationOptions.RunContinuationsAsynchronously);
    }
}
