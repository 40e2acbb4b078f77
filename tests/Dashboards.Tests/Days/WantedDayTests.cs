using PavementWatch.Dashboards.Days;

namespace PavementWatch.Dashboards.Tests.Days;

/// <summary>Which day an address asks for.</summary>
public class WantedDayTests
{
    private static readonly DateOnly Today = new(2026, 7, 14);

    [Theory]
    [InlineData(null, "2026-07-14", 200, null)]
    [InlineData("2026-07-13", "2026-07-13", 200, null)]
    [InlineData("2000-01-01", "2000-01-01", 200, null)]
    [InlineData("1999-12-31", null, 404, "There is nothing to show for 1999-12-31.")]
    [InlineData("2200-12-31", "2200-12-31", 200, null)]
    [InlineData("2201-01-01", null, 404, "There is nothing to show for 2201-01-01.")]
    [InlineData("14.7.2026", null, 400, "“14.7.2026” is not a day; expected one like 2026-07-14.")]
    [InlineData("2026-02-29", null, 400, "“2026-02-29” is not a day; expected one like 2026-07-14.")]
    [InlineData("", null, 400, "“” is not a day; expected one like 2026-07-14.")]
    public void A_day_is_read_or_what_is_wrong_is_said(string? text, string? day, int status, string? fault)
    {
        var read = WantedDay.Read(text, Today);
        Assert.Equal((status, fault), (read.Status, read.Fault));
        if (day is not null)
            Assert.Equal(DateOnly.ParseExact(day, "yyyy-MM-dd"), read.Day);
    }
}
