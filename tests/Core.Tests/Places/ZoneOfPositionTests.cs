using System.Globalization;
using System.Text.RegularExpressions;
using PavementWatch.Core.Places;

namespace PavementWatch.Core.Tests.Places;

/// <summary>A position against a time zone: places as they are pass, those with a wrong sign do not.</summary>
public sealed partial class ZoneOfPositionTests
{
    private const string Table = "/usr/share/zoneinfo/zone1970.tab";
    private const string TableByCountry = "/usr/share/zoneinfo/zone.tab";

    [Theory]
    //          latitude longitude zone              fault
    [InlineData(37.4, 97.0, "America/Chicago", "97.0 E is 11.5 h from America/Chicago, expected at most 3.5 h; is a minus sign missing?", "by definition: 97/15 h + 6 h = 12.47 h, or 11.53 h the other way round")]
    [InlineData(37.4, -97.0, "Europe/Stockholm", "97.0 W is 7.5 h from Europe/Stockholm, expected at most 3.5 h; is it the right zone", "by definition")]
    [InlineData(-33.9, -151.2, "Australia/Sydney", "151.2 W is 3.9 h from Australia/Sydney, expected at most 3.5 h; is the minus sign wrong?", "by definition: −10.08 h to 10 h is 20.08 h, or 3.92 h")]
    [InlineData(37.4, -97.0, "Etc/UTC", "97.0 W is 6.5 h from Etc/UTC", "by definition")]
    [InlineData(-37.4, -97.0, "America/Chicago", "37.4 S, but summer of America/Chicago is in July, in the north; is a minus sign too many?", "clocks there go forward in March")]
    [InlineData(33.9, 151.2, "Australia/Sydney", "33.9 N, but summer of Australia/Sydney is in January, in the south; is a minus sign missing?", "clocks there go forward in October")]
    [InlineData(-33.45, -112.07, "America/Phoenix", "33.45 S, but America/Phoenix lies north of the equator; is a minus sign too many", "no summer time there")]
    [InlineData(27.47, 153.03, "Australia/Brisbane", "27.47 N, but Australia/Brisbane lies south of the equator; is a minus sign missing", "no summer time there")]
    [InlineData(26.2, 28.05, "Africa/Johannesburg", "26.2 N, but Africa/Johannesburg lies south of the equator; is a minus sign missing", "no summer time there")]
    [InlineData(23.55, -46.63, "America/Sao_Paulo", "23.55 N, but America/Sao_Paulo lies south of the equator; is a minus sign missing", "no summer time there")]
    [InlineData(-22.57, 88.36, "Asia/Calcutta", "22.57 S, but Asia/Calcutta lies north of the equator", "by an older name")]
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
    [InlineData(0.0, -46.63, "America/Sao_Paulo", "on the equator")]
    [InlineData(-1.29, 36.82, "Africa/Nairobi", "a zone on both sides: Nairobi")]
    [InlineData(3.12, 35.6, "Africa/Nairobi", "a zone on both sides: Lodwar")]
    [InlineData(5.2, 97.5, "Asia/Jakarta", "a zone on both sides: the north of Sumatra")]
    [InlineData(-69.0, 39.58, "Asia/Riyadh", "on the ice, by the clock of Syowa")]
    [InlineData(-33.0, 0.0, "Etc/UTC", "a zone of no place")]
    public void A_position_that_lies_in_its_zone_passes(double latitude, double longitude, string zone, string where) =>
        Assert.True(ZoneOfPosition.Fault(latitude, longitude, TimeZoneInfo.FindSystemTimeZoneById(zone)) is null, where);

    [Theory]
    [InlineData(Table)]
    [InlineData(TableByCountry)]
    public void Every_zones_own_place_in_the_time_zone_database_passes_and_its_mirror_does_not(string table)
    {
        Assert.SkipUnless(File.Exists(table), $"{table} is not there; install tzdata");
        var zones = 0;
        foreach (var columns in File.ReadLines(table).Where(line => !line.StartsWith('#')).Select(line => line.Split('\t')))
        {
            if (!TimeZoneInfo.TryFindSystemTimeZoneById(columns[2], out var zone) || Iso6709().Match(columns[1]) is not { Success: true } match)
                continue;
            var (latitude, longitude) = (Degrees(match.Groups[1].Value, 2), Degrees(match.Groups[2].Value, 3));
            var fault = ZoneOfPosition.Fault(latitude, longitude, zone);
            Assert.True(fault is null, $"{columns[2]}: {fault}");
            // Nearer to the equator a zone may lie on both sides, as this one does, and on the ice any clock will do.
            if (Math.Abs(latitude) is > 7 and < 60 && zone.Id != "Africa/Lubumbashi")
                Assert.True(ZoneOfPosition.Fault(-latitude, longitude, zone) is not null, $"{columns[2]} is missing in the table of hemispheres");
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
