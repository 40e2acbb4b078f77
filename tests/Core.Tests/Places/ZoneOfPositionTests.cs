using System.Globalization;
using System.Text.RegularExpressions;
using PavementWatch.Core.Places;

namespace PavementWatch.Core.Tests.Places;

/// <summary>A position against a time zone: places as they are pass, those with a wrong sign do not.</summary>
public sealed partial class ZoneOfPositionTests
{
    private const string Table = "/usr/share/zoneinfo/zone1970.tab";

    [Theory]
    //          latitude longitude zone              fault
    [InlineData(37.4, 97.0, "America/Chicago", "97.0 E is 11.5 h from America/Chicago, expected at most 3.5 h; is a minus sign missing?", "by definition: 97/15 h + 6 h = 12.47 h, or 11.53 h the other way round")]
    [InlineData(37.4, -97.0, "Europe/Stockholm", "97.0 W is 7.5 h from Europe/Stockholm, expected at most 3.5 h; is it the right zone", "by definition")]
    [InlineData(-33.9, -151.2, "Australia/Sydney", "151.2 W is 3.9 h from Australia/Sydney, expected at most 3.5 h; is the minus sign wrong?", "by definition: −10.08 h to 10 h is 20.08 h, or 3.92 h")]
    [InlineData(37.4, -97.0, "Etc/UTC", "97.0 W is 6.5 h from Etc/UTC", "by definition")]
    [InlineData(-37.4, -97.0, "America/Chicago", "37.4 S, but summer of America/Chicago is in July, in the north; is a minus sign too many?", "clocks there go forward in March")]
    [InlineData(33.9, 151.2, "Australia/Sydney", "33.9 N, but summer of Australia/Sydney is in January, in the south; is a minus sign missing?", "clocks there go forward in October")]
    public void A_position_that_cannot_lie_in_its_zone_is_named_with_both_sides(
        double latitude, double longitude, string zone, string fault, string why) =>
        Assert.True(
            ZoneOfPosition.Fault(latitude, longitude, TimeZoneInfo.FindSystemTimeZoneById(zone))?.Contains(fault, StringComparison.Ordinal) == true,
            $"{why}: {ZoneOfPosition.Fault(latitude, longitude, TimeZoneInfo.FindSystemTimeZoneById(zone))}");

    [Theory]
    [InlineData(37.4, -97.0, "America/Chicago", "Ferngate")]
    [InlineData(39.47, 75.99, "Asia/Shanghai", "Kashgar: 2.9 h")]
    [InlineData(42.88, -8.54, "Europe/Madrid", "Santiago de Compostela: 1.6 h")]
    [InlineData(1.87, -157.43, "Pacific/Kiritimati", "UTC+14 in the west of the date line")]
    [InlineData(53.35, -6.26, "Europe/Dublin", "standard time is in summer there")]
    [InlineData(0.0, 32.58, "Africa/Kampala", "on the equator")]
    public void A_position_that_lies_in_its_zone_passes(double latitude, double longitude, string zone, string where) =>
        Assert.True(ZoneOfPosition.Fault(latitude, longitude, TimeZoneInfo.FindSystemTimeZoneById(zone)) is null, where);

    [Fact]
    public void Every_zones_own_place_in_the_time_zone_database_passes()
    {
        Assert.SkipUnless(File.Exists(Table), $"{Table} is not there; install tzdata");
        var zones = 0;
        foreach (var columns in File.ReadLines(Table).Where(line => !line.StartsWith('#')).Select(line => line.Split('\t')))
        {
            if (!TimeZoneInfo.TryFindSystemTimeZoneById(columns[2], out var zone) || Iso6709().Match(columns[1]) is not { Success: true } match)
                continue;
            var fault = ZoneOfPosition.Fault(Degrees(match.Groups[1].Value, 2), Degrees(match.Groups[2].Value, 3), zone);
            Assert.True(fault is null, $"{columns[2]}: {fault}");
            zones++;
        }

        Assert.True(zones > 250, $"{zones} zones found");
    }

    // ±DDMM or ±DDMMSS, as the table's head says.
    private static double Degrees(string text, int digits)
    {
        int Part(int from) => from < text.Length ? int.Parse(text.AsSpan(from, 2), CultureInfo.InvariantCulture) : 0;
        var size = int.Parse(text.AsSpan(1, digits), CultureInfo.InvariantCulture) + (Part(1 + digits) / 60.0) + (Part(3 + digits) / 3600.0);
        return text[0] == '-' ? -size : size;
    }

    [GeneratedRegex("^([+-][0-9]{4,6})([+-][0-9]{5,7})$")]
    private static partial Regex Iso6709();
}
