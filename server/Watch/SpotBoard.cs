using System.Collections.Concurrent;
using System.Collections.Immutable;
using System.Runtime.CompilerServices;
using Microsoft.Extensions.Options;
using PavementWatch.Core.Readings;
using PavementWatch.Core.Surfaces;
using PavementWatch.Dashboards.Spots;
using PavementWatch.Server.Spots;

namespace PavementWatch.Server.Watch;

/// <summary>The newest state of every spot, and who wants to hear of changes.</summary>
internal sealed class SpotBoard(SpotCatalogue catalogue, IOptions<WatchOptions> options, TimeProvider time) : ISpotBoard
{
    private readonly ConcurrentDictionary<SpotId, (SpotNow Spot, LookAge Age)> _spots = [];
    private readonly ConcurrentDictionary<SpotId, double> _supplyVolts = [];
    private ImmutableArray<Listener> _listeners = [];

    public IReadOnlyList<SpotNow> All() =>
        [.. catalogue.All.Select(Now)];

    public SpotNow? Find(SpotId id) =>
        catalogue.Find(id) is { } spot ? Now(spot) : null;

    /// <summary>[V] The newest supply voltage that came with the spot's readings, or <c>null</c>.</summary>
    public double? SupplyVolts(SpotId spot) => _supplyVolts.TryGetValue(spot, out var volts) ? volts : null;

    public void NoteSupply(SpotId spot, double volts) => _supplyVolts[spot] = volts;

    public void Publish(SpotNow spot)
    {
        _spots[spot.Id] = (spot, LookAge.Now(time));
        foreach (var listener in _listeners)
            listener.Tell(spot);
    }

    /// <summary>Forgets a spot that is no more; should it come back, its last word must not.</summary>
    public void Forget(SpotId spot)
    {
        _spots.TryRemove(spot, out _);
        _supplyVolts.TryRemove(spot, out _);
    }

    /// <summary>Shows a spot whose watch fails, and of which nothing is known therefore.</summary>
    public void PublishFailing(Spot spot) => Publish(Unwatched(spot) with { WatchFails = true });

    /// <summary>Tells whoever listens of spots that nobody has looked at for long: a page that is open must not go on saying what they were.</summary>
    public void TellOfStale()
    {
        foreach (var spot in catalogue.All)
        {
            if (_spots.TryGetValue(spot.Id, out var shown) && IsStale(shown))
                Publish(Now(spot));
        }
    }

    /// <summary>Hears of every change from this call on, until disposed.</summary>
    public Listener Listen()
    {
        var listener = new Listener(this);
        ImmutableInterlocked.Update(ref _listeners, static (all, one) => all.Add(one), listener);
        return listener;
    }

    public async IAsyncEnumerable<SpotNow> ChangesAsync([EnumeratorCancellation] CancellationToken cancellationToken)
    {
        using var listener = Listen();
        while (true)
        {
            foreach (var spot in await listener.NextAsync(cancellationToken))
                yield return spot;
        }
    }

    // A limit that was changed a moment ago counts at once; the watch follows within the minute.
    private SpotNow Now(Spot spot) => !_spots.TryGetValue(spot.Id, out var shown) ? Unwatched(spot) : shown switch
    {
        (var now, _) when IsStale(shown) => Stale(spot, now),
        (var now, _) when (now.LimitCelsius, now.ColdLimitCelsius) == (spot.LimitCelsius, options.Value.ColdLimitOf(spot)) => now,
        (var now, _) => now with
        {
            LimitCelsius = spot.LimitCelsius,
            ColdLimitCelsius = options.Value.ColdLimitOf(spot),
            Word = now.WordAt(spot.LimitCelsius),
        },
    };

    private bool IsStale((SpotNow Spot, LookAge Age) shown) => shown.Age.IsLate(time, options.Value);

    // What it was says nothing of now; what stands and what was told does, and ice lies on.
    private SpotNow Stale(Spot spot, SpotNow was) => Unwatched(spot) with
    {
        WatchFails = true,
        MeasuredAt = was.MeasuredAt,
        State = was.State,
        Changed = was.Changed,
        Standing = was.Standing,
        MayBeIcy = was.MayBeIcy,
        IcySince = was.IcySince,
    };

    // Added a moment ago; the watch looks at it within the minute.
    private SpotNow Unwatched(Spot spot) => new(
        spot.Id, spot.Name, spot.Site, spot.Surface,
        spot.LatitudeDegrees, spot.LongitudeDegrees, spot.LimitCelsius, spot.RadiusMeters)
    {
        TimeZoneId = spot.TimeZoneId,
        ColdLimitCelsius = options.Value.ColdLimitOf(spot),
        Now = time.GetUtcNow(),
    };

    /// <summary>One who listens. Of several changes of a spot between two looks only the newest is told.</summary>
    internal sealed class Listener(SpotBoard board) : IDisposable
    {
        private readonly Lock _lock = new();
        private readonly SemaphoreSlim _something = new(0, 1);
        private Dictionary<SpotId, SpotNow> _changed = [];
        private bool _left;

        public void Tell(SpotNow spot)
        {
            lock (_lock)
            {
                // Whoever publishes may still hold the list from before this one left.
                if (_left)
                    return;
                _changed[spot.Id] = spot;
                if (_something.CurrentCount == 0)
                    _something.Release();
            }
        }

        /// <summary>What changed since the last call, as soon as there is something.</summary>
        public async Task<IReadOnlyCollection<SpotNow>> NextAsync(CancellationToken cancellationToken)
        {
            await _something.WaitAsync(cancellationToken);
            lock (_lock)
            {
                var changed = _changed.Values;
                _changed = [];
                return changed;
            }
        }

        public void Dispose()
        {
            ImmutableInterlocked.Update(ref board._listeners, static (all, one) => all.Remove(one), this);
            lock (_lock)
            {
                _left = true;
                _something.Dispose();
            }
        }
    }
}
