using PavementWatch.Core.Readings;

namespace PavementWatch.Server.Store;

/// <summary>A store that tells <see cref="StoreCondition"/> what came of each call, and <see cref="ReadingRevisions"/> of which spots there is more.</summary>
internal sealed class ReportingStore(IReadingStore store, StoreCondition condition, ReadingRevisions revisions) : IReadingStore, IAsyncDisposable
{
    /// <summary>The store itself.</summary>
    public IReadingStore Inner => store;

    /// <inheritdoc />
    public async Task<IReadOnlyList<StoredReading>> AppendAsync(
        IReadOnlyList<StoredReading> readings, CancellationToken cancellationToken)
    {
        try
        {
            var added = await store.AppendAsync(readings, cancellationToken);
            if (readings.Count > 0)
                condition.Committed();
            return added;
        }
        catch (ReadingStoreException failure)
        {
            condition.NotCommitted(failure);
            throw;
        }
        finally
        {
            // Also where nobody waited for the answer: it may be there all the same.
            revisions.MayHave(readings);
        }
    }

    /// <inheritdoc />
    public Task<IReadOnlyList<StoredReading>> RangeAsync(
        SpotId spot, DateTimeOffset from, DateTimeOffset to, CancellationToken cancellationToken) =>
        ReadAsync(store.RangeAsync(spot, from, to, cancellationToken));

    /// <inheritdoc />
    public Task<IReadOnlyList<StoredReading>> RangesAsync(
        SpotId spot, IReadOnlyList<(DateTimeOffset From, DateTimeOffset To)> spans, CancellationToken cancellationToken) =>
        ReadAsync(store.RangesAsync(spot, spans, cancellationToken));

    /// <inheritdoc />
    public Task<IReadOnlyList<ReadingStep>> StepsAsync(
        SpotId spot, DateTimeOffset from, DateTimeOffset to, TimeSpan step, CancellationToken cancellationToken) =>
        ReadAsync(store.StepsAsync(spot, from, to, step, cancellationToken));

    /// <inheritdoc />
    public Task<IReadOnlyDictionary<Doubt, int>> DoubtsAsync(
        SpotId spot, DateTimeOffset from, DateTimeOffset to, CancellationToken cancellationToken) =>
        ReadAsync(store.DoubtsAsync(spot, from, to, cancellationToken));

    /// <inheritdoc />
    public Task<StoredReading?> LatestAsync(SpotId spot, DateTimeOffset until, CancellationToken cancellationToken) =>
        ReadAsync(store.LatestAsync(spot, until, cancellationToken));

    /// <inheritdoc />
    public Task<IReadOnlyList<StoredReading>> LatestAsync(CancellationToken cancellationToken) =>
        ReadAsync(store.LatestAsync(cancellationToken));

    /// <inheritdoc />
    public ValueTask DisposeAsync() => store is IAsyncDisposable disposable ? disposable.DisposeAsync() : ValueTask.CompletedTask;

    private async Task<T> ReadAsync<T>(Task<T> question)
    {
        try
        {
            return await question;
        }
        catch (ReadingStoreException failure)
        {
            condition.NotRead(failure);
            throw;
        }
    }
}
