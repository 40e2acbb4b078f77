using System.Collections.Concurrent;
using Microsoft.Extensions.DependencyInjection;
using PavementWatch.Core.Readings;
using PavementWatch.Server.Store;

namespace PavementWatch.Server.Tests.Store;

/// <summary>The server's own store, which remembers what it was asked.</summary>
internal sealed class CountingStore(IReadingStore store) : IReadingStore
{
    /// <summary>Readings asked for, by spot, with the first and the last moment.</summary>
    public ConcurrentQueue<(SpotId Spot, DateTimeOffset From, DateTimeOffset To)> Ranges { get; } = [];

    /// <summary>Steps asked for, by spot, with the first and the last moment.</summary>
    public ConcurrentQueue<(SpotId Spot, DateTimeOffset From, DateTimeOffset To)> Steps { get; } = [];

    /// <summary>Puts one in front of the store that is registered.</summary>
    public static void Wrap(IServiceCollection services)
    {
        var own = services.Last(s => s.ServiceType == typeof(IReadingStore));
        services.AddSingleton(provider => new CountingStore((IReadingStore)own.ImplementationFactory!(provider)));
        services.AddSingleton<IReadingStore>(provider => provider.GetRequiredService<CountingStore>());
    }

    /// <summary>Forgets what it was asked.</summary>
    public void Clear()
    {
        Ranges.Clear();
        Steps.Clear();
    }

    public Task<IReadOnlyList<StoredReading>> AppendAsync(IReadOnlyList<StoredReading> readings, CancellationToken cancellationToken) =>
        store.AppendAsync(readings, cancellationToken);

    public Task<IReadOnlyList<StoredReading>> RangeAsync(SpotId spot, DateTimeOffset from, DateTimeOffset to, CancellationToken cancellationToken)
    {
        Ranges.Enqueue((spot, from, to));
        return store.RangeAsync(spot, from, to, cancellationToken);
    }

    public Task<IReadOnlyList<StoredReading>> RangesAsync(
        SpotId spot, IReadOnlyList<(DateTimeOffset From, DateTimeOffset To)> spans, CancellationToken cancellationToken)
    {
        Ranges.Enqueue((spot, spans[0].From, spans[^1].To));
        return store.RangesAsync(spot, spans, cancellationToken);
    }

    public Task<IReadOnlyList<ReadingStep>> StepsAsync(
        SpotId spot, DateTimeOffset from, DateTimeOffset to, TimeSpan step, CancellationToken cancellationToken)
    {
        Steps.Enqueue((spot, from, to));
        return store.StepsAsync(spot, from, to, step, cancellationToken);
    }

    public Task<IReadOnlyList<StoredReading>> LatestAsync(CancellationToken cancellationToken) => store.LatestAsync(cancellationToken);

    public Task<StoredReading?> LatestAsync(SpotId spot, DateTimeOffset until, CancellationToken cancellationToken) => store.LatestAsync(spot, until, cancellationToken);
}
