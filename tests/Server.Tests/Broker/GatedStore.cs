using PavementWatch.Core.Readings;
using PavementWatch.Server.Store;

namespace PavementWatch.Server.Tests.Broker;

/// <summary>The real store behind a gate: a test can hold a commit back, or fail it, and see that it was reached.</summary>
internal sealed class GatedStore(SqliteReadingStore store) : IReadingStore, IAsyncDisposable
{
    private TaskCompletionSource _open = Opened();

    public TaskCompletionSource Reached { get; private set; } = new(TaskCreationOptions.RunContinuationsAsynchronously);

    public string? Failure { get; set; }

    public void Close() => (_open, Reached) =
        (new(TaskCreationOptions.RunContinuationsAsynchronously), new(TaskCreationOptions.RunContinuationsAsynchronously));

    public void Open() => _open.TrySetResult();

    public async Task<IReadOnlyList<StoredReading>> AppendAsync(
        IReadOnlyList<StoredReading> readings, CancellationToken cancellationToken)
    {
        Reached.TrySetResult();
        await _open.Task;
        return Failure is { } failure
            ? throw new ReadingStoreException(failure, null)
            : await store.AppendAsync(readings, cancellationToken);
    }

    public Task<IReadOnlyList<StoredReading>> RangeAsync(
        SpotId spot, DateTimeOffset from, DateTimeOffset to, CancellationToken cancellationToken) =>
        store.RangeAsync(spot, from, to, cancellationToken);

    public Task<IReadOnlyList<ReadingStep>> StepsAsync(
        SpotId spot, DateTimeOffset from, DateTimeOffset to, TimeSpan step, CancellationToken cancellationToken) =>
        store.StepsAsync(spot, from, to, step, cancellationToken);

    public Task<StoredReading?> LatestAsync(SpotId spot, DateTimeOffset until, CancellationToken cancellationToken) =>
        store.LatestAsync(spot, until, cancellationToken);

    public Task<IReadOnlyList<StoredReading>> LatestAsync(CancellationToken cancellationToken) =>
        store.LatestAsync(cancellationToken);

    public ValueTask DisposeAsync() => store.DisposeAsync();

    private static TaskCompletionSource Opened()
    {
        var open = new TaskCompletionSource();
        open.SetResult();
        return open;
    }
}
