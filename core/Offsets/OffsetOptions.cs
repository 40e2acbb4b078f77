namespace PavementWatch.Core.Offsets;

/// <summary>How an offset is fitted.</summary>
public sealed record OffsetOptions
{
    /// <summary>Shortest <see cref="Window"/>: with less there is no day to learn from and another to hold it against.</summary>
    public static readonly TimeSpan LeastWindow = TimeSpan.FromDays(3);

    /// <summary>Longest <see cref="Window"/>: three half-lives of the model's longest memory; what is older counts for next to nothing.</summary>
    public static readonly TimeSpan MostWindow = TimeSpan.FromDays(120);

    /// <summary>How far back a fit looks. 3 to 120 days inclusive; 75 days unless set. How fast what it sees fades is the model's own.</summary>
    /// <exception cref="ArgumentOutOfRangeException">Outside the range.</exception>
    public TimeSpan Window
    {
        get;
        init => field = value >= LeastWindow && value <= MostWindow
            ? value
            : throw new ArgumentOutOfRangeException(nameof(Window), value, $"Window is {value}, expected {LeastWindow.Days} to {MostWindow.Days} days");
    } = TimeSpan.FromDays(75);
}
