using System.Globalization;
using PavementWatch.Core.Offsets;

namespace PavementWatch.Dashboards.Texts;

/// <summary>How often a spot's estimates held, for people.</summary>
internal static class RecordTexts
{
    /// <summary>Without capital and full stop, e.g. <c>of the estimates of the last 30 days, 91 in 100 held</c>. Never rounded up.</summary>
    public static string Of(IntervalRecord record) => string.Create(
        CultureInfo.InvariantCulture, $"of the estimates of the last {record.Days} days, {Math.Floor(record.InsidePercent):0} in 100 held");
}
