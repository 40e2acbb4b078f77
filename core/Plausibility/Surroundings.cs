using PavementWatch.Core.Offsets;

namespace PavementWatch.Core.Plausibility;

/// <summary>What is known beside a spot's own readings when one of them is judged.</summary>
public sealed record Surroundings
{
    /// <summary>Nothing.</summary>
    public static readonly Surroundings Unknown = new();

    /// <summary>What the spot's own fit expects as if its sensor were dark; <c>null</c> where it has learnt too little to be held against a sensor.</summary>
    public SurfaceEstimate? Expected { get; init; }

    /// <summary>[fraction] Measured sun over that of a clear sky, 0 to about 1.3; <c>null</c> where nobody measures it just now.</summary>
    public double? SunFraction { get; init; }

    /// <summary>When rain that somebody measures fell last, as far as it is known, UTC; <c>null</c> where none fell or nobody measures it.</summary>
    public DateTimeOffset? RainedAt { get; init; }

    /// <summary>What was seen at the other spots of the site.</summary>
    public IReadOnlyList<SpotEvidence> Neighbours { get; init; } = [];

    /// <summary>Whether those spots have had time to be heard since the start: before, that none of them is known says nothing.</summary>
    public bool AreNeighboursHeard { get; init; } = true;
}
