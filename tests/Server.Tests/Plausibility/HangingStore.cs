using System.Collections.Concurrent;
using PavementWatch.Core.Readings;
using PavementWatch.Server.Store;

namespace PavementWatch.Server.Tests.Plausibility;

/// <summary>The server's own store, which for a while does not answer what is asked of the past.</summary>
internal sealed class HangingStore(IReadingStore store) : IReadingStore
{
    private volatile TaskCompletionSource? _hangs;

    /// <summary>Spots asked for while it did not answer.</summary>
    public ConcurrentQueue<SpotId> Asked { get; } = [];

    public void Hang() => _hangs = new TaskCompletionSource(TaskCreationOptions.RunContinuationsAsynchronously);

    public void LetGo()
    {
        _hangs?.SetResult();
        _hangs = null;
    }

    public Task<IReadOnlyList<StoredReading>> AppendAsync(IReadOnlyList<StoredReading> readings, CancellationToken cancellationToken) =>
        store.AppendAsync(readings, cancellationToken);

    public async Task<IReadOnlyList<StoredReading>> RangeAsync(SpotId spot, DateTimeOffset from, DateTimeOffset to, CancellationToken cancellationToken)
    {
        if (_hangs is { } hangs)
        {
            Asked.Enqueue(spot);
            await hangs.Task;
        }

        return await store.RangeAsync(spot, from, to, cancellationToken);
    }

    public Task<IReadOnlyList<ReadingStep>> StepsAsync(SpotId spot, DateTimeOffset from, DateTimeOffset to, TimeSpan step, CancellationToken cancellationToken) =>
        store.StepsAsync(spot, from, to, step, cancellationToken);

    public Task<StoredReading?> LatestAsync(SpotId spot, DateTimeOffset until, CancellationToken cancellationToken) =>
        store.LatestAsync(spot, until, cancellationToken);

    public Task<IReadOnlyList<StoredReading>> LatestAsync(CancellationToken cancellationToken) => store.LatestAsync(cancellationToken);
}
