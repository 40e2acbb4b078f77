namespace PavementWatch.Core.Offsets;

/// <summary>How an offset is fitted.</summary>
public sealed record OffsetOptions
{
    /// <summary>How far back a fit looks. 3 to 120 days; 75 days unless set. How fast what it sees fades is the model's own.</summary>
    public TimeSpan Window { get; init; } = TimeSpan.FromDays(75);
}
