using System.ComponentModel.DataAnnotations;
using Microsoft.Extensions.Options;
using PavementWatch.Core.Alerts;
using PavementWatch.Core.Quantities;
using PavementWatch.Core.Surfaces;

namespace PavementWatch.Server.Watch;

/// <summary>When walkers are told. Section <c>Watch</c>. The limit itself belongs to each spot, that of the cold where it has one.</summary>
internal sealed class WatchOptions
{
    /// <summary>How often a spot is read. 1 s to 1 h inclusive; 1 min unless set.</summary>
    [Range(typeof(TimeSpan), "00:00:01", "01:00:00")]
    public TimeSpan Interval { get; set; } = TimeSpan.FromMinutes(1);

    /// <summary>Intervals without a good reading that make a spot silent. 2 to 60; 3 unless set.</summary>
    [Range(AlertRule.LeastSilentIntervals, AlertRule.MostSilentIntervals)]
    public int SilentIntervals { get; set; } = 3;

    /// <summary>Readings over the limit in a row that make a spot too hot. 1 to 10; 2 unless set.</summary>
    [Range(AlertRule.LeastTooHotReadings, AlertRule.MostTooHotReadings)]
    public int TooHotReadings { get; set; } = 2;

    /// <summary>[K] How far under the limit a spot eases. 0 to 20; 2 unless set.</summary>
    [Range(QuantityRanges.EasingLeastKelvin, QuantityRanges.EasingMostKelvin)]
    public double EasingKelvin { get; set; } = 2;

    /// <summary>[°C] At and under this walkers are told of the cold, at spots without a cold limit of their own. 0 to 5; 0 unless set.</summary>
    [Range(QuantityRanges.ColdLimitLeastCelsius, QuantityRanges.ColdLimitMostCelsius)]
    public double ColdLimitCelsius { get; set; }

    /// <summary>How long it must have eased to be clear. 0 to 2 h inclusive; 10 min unless set.</summary>
    [Range(typeof(TimeSpan), "00:00:00", "02:00:00")]
    public TimeSpan ClearAfter { get; set; } = TimeSpan.FromMinutes(10);

    /// <summary>How long an all-clear must hold, by forecast and with the sun back from behind a cloud; where a longer walk is planned, as long as that. 0 to 4 h inclusive; 1 h unless set.</summary>
    [Range(typeof(TimeSpan), "00:00:00", "04:00:00")]
    public TimeSpan AllClearHolds { get; set; } = TimeSpan.FromHours(1);

    /// <summary>After an all-clear of a spot none is told for this long. 0 to 12 h inclusive; 2 h unless set.</summary>
    [Range(typeof(TimeSpan), "00:00:00", "12:00:00")]
    public TimeSpan AllClearQuiet { get; set; } = TimeSpan.FromHours(2);

    /// <summary>How far ahead a rise is told. 0 to 3 h inclusive; 30 min unless set.</summary>
    [Range(typeof(TimeSpan), "00:00:00", "03:00:00")]
    public TimeSpan RisingLead { get; set; } = TimeSpan.FromMinutes(30);

    /// <summary>How often the estimates are renewed. 10 s to 10 min inclusive; 1 min unless set.</summary>
    [Range(typeof(TimeSpan), "00:00:10", "00:10:00")]
    public TimeSpan Tick { get; set; } = TimeSpan.FromMinutes(1);

    /// <summary>A look, or what it showed, that is older is late: three of them are missing.</summary>
    internal TimeSpan LateAfter => 3 * Tick;

    /// <summary>The rule of a spot.</summary>
    /// <param name="spot">The spot.</param>
    /// <param name="longestWalk">The longest walk that is planned there now; zero where none is.</param>
    public AlertRule Rule(Spot spot, TimeSpan longestWalk = default) => new()
    {
        LimitCelsius = spot.LimitCelsius,
        LimitChangedBy = spot.LimitChangedBy,
        ColdLimitCelsius = ColdLimitOf(spot),
        ColdLimitChangedBy = spot.ColdLimitChangedBy,
        Zone = TimeZoneInfo.FindSystemTimeZoneById(spot.TimeZoneId),
        TooHotReadings = TooHotReadings,
        EasingKelvin = EasingKelvin,
        ClearAfter = ClearAfter,
        AllClearHolds = Holds(longestWalk),
        AllClearQuiet = AllClearQuiet,
        Sun = SunReturn.Of(spot),
        RisingLead = RisingLead,
        Interval = Interval,
        SilentIntervals = SilentIntervals,
    };

    /// <summary>[°C] The cold limit of a spot: its own, or else that of all spots.</summary>
    public double ColdLimitOf(Spot spot) => spot.ColdLimitCelsius ?? ColdLimitCelsius;

    private TimeSpan Holds(TimeSpan longestWalk) =>
        longestWalk == TimeSpan.Zero || longestWalk <= AllClearHolds ? AllClearHolds : longestWalk < AlertRule.MostAllClearHolds ? longestWalk : AlertRule.MostAllClearHolds;
}

[OptionsValidator]
internal sealed partial class WatchOptionsValidator : IValidateOptions<WatchOptions>;
