using System.Globalization;
using CsCheck;
using PavementWatch.Core.Places;

namespace PavementWatch.Core.Tests.Places;

public class LocalDayTests
{
    private const string Iana = "IANA time zone database, walked minute by minute with Python 3.11 zoneinfo";

    [Theory]
    //          zone                   day           first moment
    [InlineData("America/Chicago", "2026-03-08", "2026-03-08T06:00Z", Iana)]
    [InlineData("America/Chicago", "2026-11-01", "2026-11-01T05:00Z", Iana)]
    [InlineData("America/Chicago", "2026-11-02", "2026-11-02T06:00Z", Iana)]
    [InlineData("Africa/Cairo", "2026-04-24", "2026-04-23T22:00Z", Iana + "; midnight does not exist")]
    [InlineData("Africa/Cairo", "2026-10-30", "2026-10-29T22:00Z", Iana + "; at midnight it is 23:00 again")]
    [InlineData("America/Santiago", "2026-04-05", "2026-04-05T04:00Z", Iana + "; at midnight it is 23:00 again")]
    [InlineData("America/Santiago", "2026-09-06", "2026-09-06T04:00Z", Iana + "; midnight does not exist")]
    [InlineData("America/Havana", "2026-11-01", "2026-11-01T04:00Z", Iana + "; midnight comes twice")]
    [InlineData("America/St_Johns", "2010-11-07", "2010-11-07T02:30Z", Iana + "; midnight comes twice, a minute after itself")]
    [InlineData("Australia/Lord_Howe", "2026-04-05", "2026-04-04T13:00Z", Iana)]
    [InlineData("Australia/Lord_Howe", "2026-10-04", "2026-10-03T13:30Z", Iana)]
    [InlineData("Australia/Lord_Howe", "2026-10-05", "2026-10-04T13:00Z", Iana)]
    [InlineData("Pacific/Apia", "2011-12-29", "2011-12-29T10:00Z", Iana)]
    [InlineData("Pacific/Apia", "2011-12-30", "2011-12-30T10:00Z", Iana + "; the day was left out")]
    [InlineData("Pacific/Apia", "2011-12-31", "2011-12-30T10:00Z", Iana)]
    [InlineData("Asia/Kolkata", "2026-07-14", "2026-07-13T18:30Z", Iana)]
    public void Day_starts_when_the_clocks_first_show_it(string zone, string day, string start, string source) =>
        Assert.True(Moment(start) == LocalDay.Start(Zone(zone), Day(day)), source);

    [Theory]
    //          zone                   day           time     moment
    [InlineData("America/Chicago", "2026-03-08", "02:30", "2026-03-08T08:00Z", Iana + "; 02:00 to 03:00 does not exist")]
    [InlineData("America/Chicago", "2026-11-01", "01:30", "2026-11-01T06:30Z", Iana + "; comes twice")]
    [InlineData("Africa/Cairo", "2026-10-29", "23:30", "2026-10-29T20:30Z", Iana + "; comes twice")]
    [InlineData("America/Santiago", "2026-04-04", "23:30", "2026-04-05T02:30Z", Iana + "; comes twice")]
    [InlineData("Australia/Lord_Howe", "2026-04-05", "01:45", "2026-04-04T14:45Z", Iana + "; half an hour comes twice")]
    [InlineData("Australia/Lord_Howe", "2026-10-04", "02:15", "2026-10-03T15:30Z", Iana + "; half an hour does not exist")]
    public void Time_shown_twice_is_the_first_and_one_never_shown_is_when_it_is_passed(
        string zone, string day, string time, string moment, string source) =>
        Assert.True(Moment(moment) == LocalDay.At(Zone(zone), Day(day), TimeSpan.Parse(time, CultureInfo.InvariantCulture)), source);

    [Fact]
    public void Days_follow_each_other_and_a_moment_lies_in_its_day()
    {
        string[] zones = ["America/Chicago", "Africa/Cairo", "America/Santiago", "Australia/Lord_Howe", "Pacific/Apia", "Europe/Lisbon", "Asia/Kathmandu"];
        Gen.Select(Gen.Int[0, zones.Length - 1], Gen.Int[0, 366 * 30], Gen.Int[0, 24 * 60 - 1]).Sample(
            (z, days, minutes) =>
            {
                var zone = Zone(zones[z]);
                var moment = new DateTimeOffset(2005, 1, 1, 0, 0, 0, TimeSpan.Zero).AddDays(days).AddMinutes(minutes);
                var day = LocalDay.Of(zone, moment);

                Assert.True(LocalDay.Start(zone, day) <= moment);
                Assert.True(moment < LocalDay.Start(zone, day.AddDays(1)));
                Assert.Equal(LocalDay.Start(zone, day), LocalDay.At(zone, day, TimeSpan.Zero));
            },
            iter: 20_000);
    }

    private static TimeZoneInfo Zone(string id) => TimeZoneInfo.FindSystemTimeZoneById(id);

    private static DateOnly Day(string text) => DateOnly.ParseExact(text, "yyyy-MM-dd", CultureInfo.InvariantCulture);

    private static DateTimeOffset Moment(string text) =>
        DateTimeOffset.ParseExact(text, "yyyy-MM-dd'T'HH:mm'Z'", CultureInfo.InvariantCulture, DateTimeStyles.AssumeUniversal);
}
