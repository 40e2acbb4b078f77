using System.Collections.Concurrent;
using Microsoft.Extensions.DependencyInjection;
using PavementWatch.Core.Readings;
using PavementWatch.Server.Store;

namespace PavementWatch.Server.Tests.Plausibility;

/// <summary>The server's own store, which for a while does not answer what is asked of the past, takes nothing, or fails.</summary>
internal sealed class HangingStore(IReadingStore store) : IReadingStore
{
    private volatile TaskCompletionSource? _hangs;
    private volatile TaskCompletionSource? _appendsHang;

    /// <summary>Thrown at whoever appends.</summary>
    public Exception? Failure { get; set; }

    /// <summary>Spots asked for while it did not answer.</summary>
    public ConcurrentQueue<SpotId> Asked { get; } = [];

    /// <summary>Puts one around the server's own.</summary>
    public static void In(IServiceCollection services, Action<HangingStore> made)
    {
        var own = services.Last(s => s.ServiceType == typeof(IReadingStore));
        services.AddSingleton<IReadingStore>(provider =>
        {
            var store = new HangingStore((IReadingStore)own.ImplementationFactory!(provider));
            made(store);
            return store;
        });
    }

    public void Hang() => _hangs = new TaskCompletionSource(TaskCreationOptions.RunContinuationsAsynchronously);

    public void HangAppends() => _appendsHang = new TaskCompletionSource(TaskCreationOptions.RunContinuationsAsynchronously);

    public void LetGo()
    {
        _hangs?.SetResult();
        _appendsHang?.SetResult();
        (_hangs, _appendsHang) = (null, null);
    }

    public async Task<IReadOnlyList<StoredReading>> AppendAsync(IReadOnlyList<StoredReading> readings, CancellationToken cancellationToken)
    {
        if (_appendsHang is { } hangs)
            await hangs.Task;
        return Failure is { } failure ? throw failure : await store.AppendAsync(readings, cancellationToken);
    }

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
