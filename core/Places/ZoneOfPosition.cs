using System.Globalization;

namespace PavementWatch.Core.Places;

/// <summary>Whether a position can lie in a time zone: a missing minus sign puts a spot on the other side of the Earth, where it is night at noon.</summary>
/// <remarks>
/// No map is asked. The sun stands highest near noon of the zone's standard time, so longitude/15 h and its offset are
/// near each other; clocks are put forward in the summer of their own hemisphere; and of zones without summer time
/// a table says on which side of the equator they lie. A wrong sign of a longitude within
/// <see cref="MostHoursApart"/>/2 of Greenwich is not seen; the sun is then at most that far off.
/// </remarks>
public static class ZoneOfPosition
{
    /// <summary>[h] Furthest that a zone's standard time is from its place's mean solar time: 3.1 h in the west of China; the rest is room (from memory).</summary>
    public const double MostHoursApart = 3.5;

    // South of this stations keep the clocks of the country they belong to.
    private const double IceFromLatitudeDegrees = -60;

    // Any recent year will do; the rules of one that is over do not change under us.
    private const int Year = 2025;

    /// <summary>What contradicts, with both sides and the likely remedy.</summary>
    /// <param name="latitudeDegrees">[°] North positive; −90 to 90 inclusive.</param>
    /// <param name="longitudeDegrees">[°] East positive; −180 to 180 inclusive.</param>
    /// <param name="zone">The place's time zone.</param>
    /// <returns><c>null</c> when the position can lie there.</returns>
    public static string? Fault(double latitudeDegrees, double longitudeDegrees, TimeZoneInfo zone)
    {
        ArgumentNullException.ThrowIfNull(zone);
        var (january, july) = (OffsetHours(zone, 1), OffsetHours(zone, 7));
        // Standard time is what the clocks show in winter: the smaller of the two.
        var apart = HoursApart(longitudeDegrees / 15, Math.Min(january, july));
        if (!(apart <= MostHoursApart))
        {
            var remedy = HoursApart(-longitudeDegrees / 15, Math.Min(january, july)) <= MostHoursApart
                ? longitudeDegrees > 0 ? "is a minus sign missing?" : "is the minus sign wrong?"
                : "is it the right zone, and are latitude and longitude in their own fields?";
            return Invariant($"longitude is {longitudeDegrees}: {Math.Abs(longitudeDegrees):0.0##} {(longitudeDegrees < 0 ? "W" : "E")} is {apart:0.0} h from {zone.Id}, expected at most {MostHoursApart} h; {remedy}");
        }

        if (latitudeDegrees is <= IceFromLatitudeDegrees or 0)
            return null;
        var summerNorth = july > january;
        if (july != january && latitudeDegrees > 0 != summerNorth)
        {
            return Invariant($"latitude is {latitudeDegrees}: {Math.Abs(latitudeDegrees):0.0##} {(latitudeDegrees < 0 ? "S" : "N")}, but summer of {zone.Id} is in {(summerNorth ? "July, in the north" : "January, in the south")}; is a minus sign {(summerNorth ? "too many" : "missing")}?");
        }

        if (july == january && ZoneHemisphere.IsNorth(zone.Id) is { } isNorth && latitudeDegrees > 0 != isNorth)
        {
            return Invariant($"latitude is {latitudeDegrees}: {Math.Abs(latitudeDegrees):0.0##} {(latitudeDegrees < 0 ? "S" : "N")}, but {zone.Id} lies {(isNorth ? "north" : "south")} of the equator; is a minus sign {(isNorth ? "too many" : "missing")}, or has the place a zone of its own?");
        }

        return null;
    }

    private static double OffsetHours(TimeZoneInfo zone, int month) =>
        zone.GetUtcOffset(new DateTimeOffset(Year, month, 15, 0, 0, 0, TimeSpan.Zero)).TotalHours;

    // Around the clock: on islands west of the date line the day, not the hour, is another one.
    private static double HoursApart(double one, double other) => Math.Abs(Math.IEEERemainder(one - other, 24));

    private static string Invariant(FormattableString text) => text.ToString(CultureInfo.InvariantCulture);
}
