namespace PavementWatch.Core.Offsets;

/// <summary>How an offset is fitted. The defaults were chosen by cross-validation over time on two open data sets and serve all kinds.</summary>
public sealed record OffsetOptions
{
    /// <summary>How far back a fit looks. 3 to 120 days; 21 days unless set.</summary>
    public TimeSpan Window { get; init; } = TimeSpan.FromDays(21);

    /// <summary>Age at which a reading counts half. 1 to 60 days; 7 days unless set.</summary>
    public TimeSpan HalfLife { get; init; } = TimeSpan.FromDays(7);
}
