namespace PavementWatch.Core.Contact;

/// <summary>What is remembered of a spot's ground so that ice on it is not forgotten. The one rule of "may be icy", wherever that is said.</summary>
/// <remarks>
/// <list type="bullet">
/// <item>Ground becomes icy where ice may form on it (<see cref="Ice.MayForm"/>), where it freezes within <see cref="DampFor"/> of having been
/// wet, under dew or in air full of water, and, as nobody sees what water lies on it, where it has been frozen for <see cref="FrozenFor"/>.</item>
/// <item>It stays so until good readings have been at <see cref="ThawedFromCelsius"/> or over for <see cref="ThawsFor"/>, one after another.</item>
/// <item>Doubt ends nothing: a gap keeps it and begins the thaw anew, frozen ground that is not seen stays frozen, and of readings in
/// doubt only those that freeze or do not thaw count.</item>
/// <item>Where nothing is measured, as at a spot without a probe, the estimate's lower end has to say the same for
/// <see cref="EstimateThawsFor"/>. What is expected of hours to come thaws as readings do: it is no word of now.</item>
/// </list>
/// The margin and the spans are common practice, no source: none was found that says how long ice lies on thawing ground. A
/// millimetre of ice takes 306 kJ/m² to melt (334 kJ/kg, 917 kg/m³, by definition of the heat of fusion): 51 min at 100 W/m², and
/// hours in shade beside the patch that the sensor sees.
/// </remarks>
public sealed record IceMemory
{
    /// <summary>[°C] From here ground is clearly over freezing.</summary>
    public const double ThawedFromCelsius = 3;

    /// <summary>So long it has to be so: three hours.</summary>
    public static readonly TimeSpan ThawsFor = TimeSpan.FromHours(3);

    /// <summary>So long the estimate's lower end has to be so where nothing is measured: a day.</summary>
    public static readonly TimeSpan EstimateThawsFor = TimeSpan.FromHours(24);

    /// <summary>Frozen for so long, ground of which nobody knows how wet it is may be icy: an hour.</summary>
    public static readonly TimeSpan FrozenFor = TimeSpan.FromHours(1);

    /// <summary>So long ground is thought to stay damp in the cold: twelve hours.</summary>
    public static readonly TimeSpan DampFor = TimeSpan.FromHours(12);

    /// <summary>What comes late and is older than this says nothing of now: two days.</summary>
    public static readonly TimeSpan LateReach = TimeSpan.FromDays(2);

    /// <summary>Since when it may be icy, UTC; <c>null</c> where it is not.</summary>
    public DateTimeOffset? IcySince { get; init; }

    /// <summary>Since when it has been frozen, UTC.</summary>
    public DateTimeOffset? FrozenSince { get; init; }

    /// <summary>When it was last known to take on water, UTC.</summary>
    public DateTimeOffset? DampAt { get; init; }

    /// <summary>Since when good readings have been clearly over freezing, UTC.</summary>
    public DateTimeOffset? ThawingSince { get; init; }

    /// <summary>Since when readings or the estimate's lower end have been clearly over freezing, UTC.</summary>
    public DateTimeOffset? EstimateThawingSince { get; init; }

    /// <summary>When it was last known to have thawed for long enough, UTC.</summary>
    public DateTimeOffset? ThawedAt { get; init; }

    /// <summary>When it was last well measured, UTC.</summary>
    public DateTimeOffset? GoodAt { get; init; }

    /// <summary>When it was last measured or estimated, UTC.</summary>
    public DateTimeOffset? SeenAt { get; init; }

    /// <summary>Whether it may be icy.</summary>
    [System.Text.Json.Serialization.JsonIgnore]
    public bool MayBeIcy => IcySince is not null;

    /// <summary>The same after one more moment.</summary>
    /// <param name="sight">What it says. One that is earlier than what was seen comes late: of it only that it froze counts.</param>
    /// <param name="longestGap">Moments further apart than this do not follow each other.</param>
    /// <returns>What to remember.</returns>
    public IceMemory After(GroundSight sight, TimeSpan longestGap)
    {
        if (!double.IsFinite(sight.SurfaceCelsius))
            return Unseen(sight.At);
        if (sight.At < SeenAt)
            return Late(sight);
        var memory = Unseen(sight.At);
        if (sight.IsFrozen)
            memory = memory.Frozen(sight);
        else if (sight.SurfaceCelsius < ThawedFromCelsius)
            memory = memory with { ThawingSince = null, EstimateThawingSince = null };
        else if (sight.Evidence != GroundEvidence.Doubtful)
            memory = memory.Thawing(sight, longestGap);

        // A reading in doubt that is over freezing is as good as none, but for the water.
        if (sight.IsDamp)
            memory = memory with { DampAt = sight.At };
        if (sight.Evidence == GroundEvidence.Doubtful && !sight.IsFrozen)
            return memory;
        var counts = sight.Evidence is GroundEvidence.Good or GroundEvidence.Expected;
        return memory with
        {
            SeenAt = sight.At,
            GoodAt = counts ? sight.At : memory.GoodAt,
            FrozenSince = counts && !sight.IsFrozen ? null : memory.FrozenSince,
        };
    }

    /// <summary>The same at a moment of which nothing is known: ground that was frozen when it was last seen stays frozen.</summary>
    /// <param name="at">UTC.</param>
    /// <returns>What to remember.</returns>
    public IceMemory Unseen(DateTimeOffset at) =>
        IcySince is null && at - FrozenSince >= FrozenFor ? this with { IcySince = at } : this;

    /// <summary>The same by a clock that was set back: every moment as long ago as it was.</summary>
    /// <param name="by">How far it was set back.</param>
    /// <returns>What to remember.</returns>
    public IceMemory Earlier(TimeSpan by) => new()
    {
        IcySince = IcySince - by,
        FrozenSince = FrozenSince - by,
        DampAt = DampAt - by,
        ThawingSince = ThawingSince - by,
        EstimateThawingSince = EstimateThawingSince - by,
        ThawedAt = ThawedAt - by,
        GoodAt = GoodAt - by,
        SeenAt = SeenAt - by,
    };

    private IceMemory Frozen(GroundSight sight) => this with
    {
        FrozenSince = FrozenSince ?? sight.At,
        IcySince = IcySince ?? (sight.TakesIce || sight.At - DampAt <= DampFor ? sight.At : null),
        ThawingSince = null,
        EstimateThawingSince = null,
    };

    private IceMemory Thawing(GroundSight sight, TimeSpan longestGap)
    {
        var memory = this with { EstimateThawingSince = EstimateThawingSince is { } seen && sight.At - SeenAt <= longestGap ? seen : sight.At };
        if (sight.Evidence != GroundEvidence.Estimated)
            memory = memory with { ThawingSince = ThawingSince is { } since && sight.At - GoodAt <= longestGap ? since : sight.At };
        var isOver = sight.At - memory.EstimateThawingSince >= EstimateThawsFor
            || (sight.Evidence != GroundEvidence.Estimated && sight.At - memory.ThawingSince >= ThawsFor);
        // What was ice is water, and may freeze again.
        return !isOver ? memory : memory with { IcySince = null, FrozenSince = null, ThawedAt = sight.At, DampAt = MayBeIcy ? sight.At : DampAt };
    }

    // How long it was frozen then nobody has followed. What has thawed since is known not to be icy.
    private IceMemory Late(GroundSight sight) =>
        MayBeIcy || !sight.IsFrozen || sight.At < ThawedAt || SeenAt - sight.At > LateReach ? this : this with { IcySince = sight.At };
}
