namespace PavementWatch.Core.Offsets;

/// <summary>Why an estimate may be further off than its interval says; several may hold at once.</summary>
[Flags]
public enum EstimateDoubt
{
    /// <summary>Nothing known against it.</summary>
    None = 0,

    /// <summary>The spot has no readings of its own: the handbook's word for its kind of ground.</summary>
    HandbookOnly = 1,

    /// <summary>The air is nearly saturated or was in the last three hours: rain or dew may cool the surface, which the model does not see.</summary>
    MaybeWet = 2,

    /// <summary>The air is hotter than beside any surface reading of the window; the interval is wider for it.</summary>
    HotterThanSeen = 4,

    /// <summary>The air is colder than beside any surface reading of the window; the interval is wider for it.</summary>
    ColderThanSeen = 8,

    /// <summary>The air was not known at that moment and is taken to repeat its last day.</summary>
    AirGuessed = 16,
}
