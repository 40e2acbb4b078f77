using PavementWatch.Core.Readings;

namespace PavementWatch.Server.Store;

/// <summary>The time series of readings. Two implementations pass one contract suite.</summary>
internal interface IReadingStore
{
    /// <summary>Appends a batch and returns after it is durable. A reading already there (same spot and time) is left as it was.</summary>
    /// <returns>The readings that were new, in the batch's order.</returns>
    Task<IReadOnlyList<StoredReading>> AppendAsync(
        IReadOnlyList<StoredReading> readings, CancellationToken cancellationToken);

    /// <summary>Every reading of a spot with <c>from ≤ MeasuredAt &lt; to</c>, in time order.</summary>
    Task<IReadOnlyList<StoredReading>> RangeAsync(
        SpotId spot, DateTimeOffset from, DateTimeOffset to, CancellationToken cancellationToken);

    /// <summary>Every reading of a spot in any of some spans, each as <see cref="RangeAsync"/> has it; the spans do not overlap and are in time order.</summary>
    async Task<IReadOnlyList<StoredReading>> RangesAsync(
        SpotId spot, IReadOnlyList<(DateTimeOffset From, DateTimeOffset To)> spans, CancellationToken cancellationToken)
    {
        var readings = new List<StoredReading>();
        foreach (var (from, to) in spans)
            readings.AddRange(await RangeAsync(spot, from, to, cancellationToken));
        return readings;
    }

    /// <summary>The readings of a span in steps; a step holds the readings with <c>end − step &lt; MeasuredAt ≤ end</c>, ends being multiples of the step since 1970. Empty steps are left out. Only good readings make the means of the surface, and those with sound air the means of air and humidity.</summary>
    Task<IReadOnlyList<ReadingStep>> StepsAsync(
        SpotId spot, DateTimeOffset from, DateTimeOffset to, TimeSpan step, CancellationToken cancellationToken);

    /// <summary>How many readings of a spot with <c>from ≤ MeasuredAt &lt; to</c> have each set of doubts; those without any under <see cref="Doubt.None"/>.</summary>
    async Task<IReadOnlyDictionary<Doubt, int>> DoubtsAsync(SpotId spot, DateTimeOffset from, DateTimeOffset to, CancellationToken cancellationToken) =>
        (await RangeAsync(spot, from, to, cancellationToken)).GroupBy(stored => stored.Reading.Doubt).ToDictionary(group => group.Key, group => group.Count());

    /// <summary>The newest reading of a spot with <c>MeasuredAt ≤ until</c>, in whole milliseconds; <c>null</c> for none. Asks of no other spot.</summary>
    Task<StoredReading?> LatestAsync(SpotId spot, DateTimeOffset until, CancellationToken cancellationToken);

    /// <summary>The newest reading of each spot that has any.</summary>
    Task<IReadOnlyList<StoredReading>> LatestAsync(CancellationToken cancellationToken);
}

/// <summary>A reading and when the server had it.</summary>
internal sealed record StoredReading(Reading Reading, DateTimeOffset ReceivedAt);

/// <summary>Readings of one step taken together.</summary>
/// <param name="End">End of the step, UTC.</param>
/// <param name="GoodCount">How many good readings it holds; 0 when all were suspect.</param>
/// <param name="Count">How many readings of any quality it holds.</param>
internal sealed record ReadingStep(DateTimeOffset End, int GoodCount, int Count)
{
    /// <summary>[°C] Mean of the good surface readings.</summary>
    public double? SurfaceCelsius { get; init; }

    /// <summary>[°C] Highest good surface reading.</summary>
    public double? SurfaceMaxCelsius { get; init; }

    /// <summary>[°C] Lowest good surface reading.</summary>
    public double? SurfaceMinCelsius { get; init; }

    /// <summary>[°C] Mean air of the readings with sound air, see <see cref="Reading.HasSoundAir"/>.</summary>
    public double? AirCelsius { get; init; }

    /// <summary>[%] Mean humidity of the same.</summary>
    public double? HumidityPercent { get; init; }

    /// <summary>[°C] Mean surface of the readings that are doubted for the warmth of the sensor's body alone.</summary>
    public double? HeatedSurfaceCelsius { get; init; }

    /// <summary>What is held against any of its readings.</summary>
    public Doubt Doubts { get; init; }
}
