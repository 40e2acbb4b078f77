using System.Text.Json.Serialization;

namespace PavementWatch.Core.Offsets;

/// <summary>How often a spot's 90 % intervals held on its last days, each made from the days before its own and without a reading of it.</summary>
/// <param name="Days">[days] How many were looked at; 3 to 30.</param>
/// <param name="Count">Readings compared; 1 or more.</param>
/// <param name="Inside">Those inside.</param>
/// <param name="HottestCount">The tenth of them whose surface was expected hottest.</param>
/// <param name="HottestInside">Of that tenth, those inside.</param>
/// <param name="HottestAbove">Of that tenth, those over the upper end.</param>
public sealed record IntervalRecord(int Days, int Count, int Inside, int HottestCount, int HottestInside, int HottestAbove)
{
    /// <summary>[%] Readings inside.</summary>
    [JsonIgnore]
    public double InsidePercent => 100.0 * Inside / Count;

    /// <summary>[%] Of the tenth expected hottest, those inside.</summary>
    [JsonIgnore]
    public double HottestInsidePercent => 100.0 * HottestInside / HottestCount;

    /// <summary>[%] Of the tenth expected hottest, those over the upper end.</summary>
    [JsonIgnore]
    public double HottestAbovePercent => 100.0 * HottestAbove / HottestCount;
}
