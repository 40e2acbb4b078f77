using System.Collections.Concurrent;
using System.Runtime.CompilerServices;
using System.Threading.Channels;
using PavementWatch.Core.Readings;
using PavementWatch.Core.Surfaces;
using PavementWatch.Dashboards.Days;
using PavementWatch.Dashboards.Spots;

namespace PavementWatch.Dashboards.Tests.Hosting;

/// <summary>The spots of a test, changed by the test.</summary>
internal sealed class TestBoard : ISpotBoard, ISpotDays
{
    private readonly ConcurrentDictionary<Guid, Channel<SpotNow>> _listeners = new();
    private readonly Lock _lock = new();
    private List<SpotNow> _spots = [.. Ferngate.Spots(Ferngate.Now)];

    public DateTimeOffset Now { get; set; } = Ferngate.Now;

    public Func<Spot, DateOnly, SpotDay>? MakeDay { get; set; }

    public IReadOnlyList<SpotNow> All()
    {
        lock (_lock)
            return [.. _spots];
    }

    public SpotNow? Find(SpotId id) => All().FirstOrDefault(s => s.Id == id);

    public void Reset(params SpotNow[] spots)
    {
        lock (_lock)
            _spots = [.. spots];
    }

    public void Change(SpotNow spot)
    {
        lock (_lock)
            _spots = [.. _spots.Select(s => s.Id == spot.Id ? spot : s)];
        foreach (var listener in _listeners.Values)
            listener.Writer.TryWrite(spot);
    }

    public async IAsyncEnumerable<SpotNow> ChangesAsync([EnumeratorCancellation] CancellationToken cancellationToken)
    {
        var channel = Channel.CreateUnbounded<SpotNow>();
        var key = Guid.NewGuid();
        _listeners[key] = channel;
        try
        {
            await foreach (var spot in channel.Reader.ReadAllAsync(cancellationToken))
                yield return spot;
        }
        finally
        {
            _listeners.TryRemove(key, out _);
        }
    }

    public Task<SpotDay?> DayAsync(SpotId spot, DateOnly day, CancellationToken cancellationToken)
    {
        var place = Find(spot) is { } found ? Ferngate.Place(found) : null;
        return Task.FromResult(place is null ? null : MakeDay?.Invoke(place, day) ?? Ferngate.Day(place, day, Now));
    }

    public DateOnly? Today(SpotId spot) =>
        Find(spot) is null ? null
            : DateOnly.FromDateTime(TimeZoneInfo.ConvertTime(Now, TimeZoneInfo.FindSystemTimeZoneById(Ferngate.Zone)).DateTime);
}
