namespace PavementWatch.Server.Fitting;

/// <summary>Local days and times of day as moments, also where the clocks change.</summary>
internal static class LocalDay
{
    /// <summary>First moment of a local day.</summary>
    public static DateTimeOffset Start(TimeZoneInfo zone, DateOnly day) => At(zone, day, TimeSpan.Zero);

    /// <summary>When the clocks of a zone show a time on a day: the first time if twice, the end of the gap if never.</summary>
    public static DateTimeOffset At(TimeZoneInfo zone, DateOnly day, TimeSpan timeOfDay)
    {
        var local = day.ToDateTime(TimeOnly.MinValue) + timeOfDay;
        while (zone.IsInvalidTime(local))
            local = local.AddMinutes(1);
        var offset = zone.IsAmbiguousTime(local) ? zone.GetAmbiguousTimeOffsets(local).Max() : zone.GetUtcOffset(local);
        return new DateTimeOffset(local, offset).ToUniversalTime();
    }
}
