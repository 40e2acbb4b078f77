namespace PavementWatch.Core.Alerts;

/// <summary>Whether walkers may be told that a hot spell is over, or does not come: only what lasts, and not too often.</summary>
internal static class AllClear
{
    // Within the trend's window of a quarter of an hour; on a clear evening asphalt loses about 6 K in a whole one. Our choice.
    private const double CloudFallKelvin = 2;

    /// <summary>Whether it lasts: neither the sun coming back nor what was forecast takes it to the limit while it has to hold, and none was told lately.</summary>
    /// <param name="memory">What is remembered.</param>
    /// <param name="celsius">[°C] The reading, or the estimate's upper end.</param>
    /// <param name="now">UTC.</param>
    /// <param name="rule">The rule.</param>
    public static bool MayBeTold(AlertMemory memory, double celsius, DateTimeOffset now, AlertRule rule) =>
        !(rule.Sun?.Celsius(celsius, now, rule.AllClearHolds) >= rule.Threshold)
        && !(memory.ForecastHotAt > now)
        // Told at a moment that lies ahead, it was told under a clock that has been set back since.
        && !(memory.OverToldAt is { } told && (now - told).Duration() < rule.AllClearQuiet);

    /// <summary>A rise that was told is called off: the next one is news at once.</summary>
    public static Change CallOffRise(Change change) =>
        change.With(m => m with { RisingAt = null, RisingToldAt = null, RiseTold = false, OverToldAt = change.Now });

    /// <summary>When the forecast's upper end reaches the limit last, with the sun back too, while an all-clear would have to hold; <c>null</c> when it stays under it.</summary>
    public static DateTimeOffset? ForecastHotAt(Estimated input, AlertRule rule)
    {
        DateTimeOffset? hot = null;
        foreach (var ahead in input.Ahead.Concat(input.SunBack))
        {
            if (ahead.At > input.Now && ahead.At - input.Now <= rule.AllClearHolds && ahead.UpperCelsius >= rule.Threshold && !(ahead.At <= hot))
                hot = ahead.At;
        }

        return hot;
    }

    /// <summary>Whether an all-clear says that it stays under the limit at a moment.</summary>
    public static bool Covers(AlertMemory memory, DateTimeOffset moment, AlertRule rule) =>
        rule.Sun is not null && memory.OverToldAt is { } told && moment >= told && moment - told < rule.AllClearHolds;

    /// <summary>When the sun would take it back to the limit, where it fell too fast for an evening.</summary>
    /// <returns>The soonest moment; <c>null</c> where the sun would not, or it fell slowly.</returns>
    public static DateTimeOffset? HotAgainAt(AlertMemory memory, double celsius, DateTimeOffset now, AlertRule rule) =>
        memory.Recent.Any(p => p.SurfaceCelsius - celsius >= CloudFallKelvin)
            ? rule.Sun?.Reaches(celsius, rule.Threshold, now, rule.AllClearHolds)
            : null;
}
