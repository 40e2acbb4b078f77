using System.Runtime.CompilerServices;
using PavementWatch.Core.Contact;
using PavementWatch.Core.Quantities;

namespace PavementWatch.Core.Alerts;

/// <summary>When a spot is too hot, about to be, and over it. All ranges inclusive and checked where a rule is made.</summary>
/// <remarks>Values: design of the product, section 9; the limit after ASTM C1055, the rest common practice, no source.</remarks>
public sealed record AlertRule
{
    /// <summary>Fewest <see cref="TooHotReadings"/>.</summary>
    public const int LeastTooHotReadings = 1;

    /// <summary>Most <see cref="TooHotReadings"/>.</summary>
    public const int MostTooHotReadings = 10;

    /// <summary>Fewest <see cref="SilentIntervals"/>.</summary>
    public const int LeastSilentIntervals = 2;

    /// <summary>Most <see cref="SilentIntervals"/>.</summary>
    public const int MostSilentIntervals = 60;

    private static readonly TimeSpan LeastIceGap = TimeSpan.FromMinutes(20);

    /// <summary>[°C] From here a surface is too hot; <see cref="QuantityRanges.Limit"/>, 49 unless set.</summary>
    /// <exception cref="ArgumentOutOfRangeException">Outside the range.</exception>
    public double LimitCelsius { get; init => field = QuantityRanges.Limit.Require(value, nameof(LimitCelsius)); } = Surfaces.Spot.DefaultLimitCelsius;

    /// <summary>Who last changed the limit.</summary>
    public Surfaces.LimitChanger LimitChangedBy { get; init; }

    /// <summary>[°C] At and under this a surface freezes, or is as cold as walkers are to be told of; <see cref="QuantityRanges.ColdLimit"/>, 0 unless set.</summary>
    /// <exception cref="ArgumentOutOfRangeException">Outside the range.</exception>
    public double ColdLimitCelsius { get; init => field = QuantityRanges.ColdLimit.Require(value, nameof(ColdLimitCelsius)); } = GroundWords.FreezingUpToCelsius;

    /// <summary>Who last changed the cold limit.</summary>
    public Surfaces.LimitChanger ColdLimitChangedBy { get; init; }

    /// <summary>Readings at or over the limit, one after another, that make it too hot; <see cref="LeastTooHotReadings"/> to <see cref="MostTooHotReadings"/>, 2 unless set.</summary>
    /// <exception cref="ArgumentOutOfRangeException">Outside the range.</exception>
    public int TooHotReadings { get; init => field = Within(value, LeastTooHotReadings, MostTooHotReadings); } = 2;

    /// <summary>[K] So far under the limit it eases; <see cref="QuantityRanges.Easing"/>, 2 unless set.</summary>
    /// <exception cref="ArgumentOutOfRangeException">Outside the range.</exception>
    public double EasingKelvin { get; init => field = QuantityRanges.Easing.Require(value, nameof(EasingKelvin)); } = 2;

    /// <summary>So long it must have eased to be clear; 0 to 2 h, 10 min unless set.</summary>
    /// <exception cref="ArgumentOutOfRangeException">Outside the range.</exception>
    public TimeSpan ClearAfter { get; init => field = Within(value, TimeSpan.Zero, TimeSpan.FromHours(2)); } = TimeSpan.FromMinutes(10);

    /// <summary>Longest <see cref="AllClearHolds"/>: 4 h.</summary>
    public static TimeSpan MostAllClearHolds { get; } = TimeSpan.FromHours(4);

    /// <summary>So long an all-clear must hold by forecast and physics, the sun back from behind a cloud; 0 to 4 h, 1 h unless set.</summary>
    /// <exception cref="ArgumentOutOfRangeException">Outside the range.</exception>
    public TimeSpan AllClearHolds { get; init => field = Within(value, TimeSpan.Zero, MostAllClearHolds); } = TimeSpan.FromHours(1);

    /// <summary>After an all-clear none is told for this long; 0 to 12 h, 2 h unless set.</summary>
    /// <exception cref="ArgumentOutOfRangeException">Outside the range.</exception>
    public TimeSpan AllClearQuiet { get; init => field = Within(value, TimeSpan.Zero, TimeSpan.FromHours(12)); } = TimeSpan.FromHours(2);

    /// <summary>How hot the sun may make it when it comes back; <c>null</c> where the sun is not asked.</summary>
    public SunReturn? Sun { get; init; }

    /// <summary>So far ahead the forecast or the trend is asked; 0 to 3 h, 30 min unless set.</summary>
    /// <exception cref="ArgumentOutOfRangeException">Outside the range.</exception>
    public TimeSpan RisingLead { get; init => field = Within(value, TimeSpan.Zero, TimeSpan.FromHours(3)); } = TimeSpan.FromMinutes(30);

    /// <summary>After a push that it is rising, none for this long; 0 to 12 h, 1 h unless set.</summary>
    /// <exception cref="ArgumentOutOfRangeException">Outside the range.</exception>
    public TimeSpan RisingQuiet { get; init => field = Within(value, TimeSpan.Zero, TimeSpan.FromHours(12)); } = TimeSpan.FromHours(1);

    /// <summary>How often the spot is read; 1 s to 1 h, 1 min unless set.</summary>
    /// <exception cref="ArgumentOutOfRangeException">Outside the range.</exception>
    public TimeSpan Interval { get; init => field = Within(value, TimeSpan.FromSeconds(1), TimeSpan.FromHours(1)); } = TimeSpan.FromMinutes(1);

    /// <summary>Intervals without a good reading that make a spot silent; <see cref="LeastSilentIntervals"/> to <see cref="MostSilentIntervals"/>, 3 unless set.</summary>
    /// <exception cref="ArgumentOutOfRangeException">Outside the range.</exception>
    public int SilentIntervals { get; init => field = Within(value, LeastSilentIntervals, MostSilentIntervals); } = 3;

    /// <summary>The spot's time zone: at its midnight what was told of the day before ends; UTC unless set.</summary>
    public TimeZoneInfo Zone { get; init; } = TimeZoneInfo.Utc;

    /// <summary>Heat that is not seen for this long is a new hot spell when it comes back on another day: as long as silence and clearing take.</summary>
    public TimeSpan SpellBreak => ClearAfter > SilentAfter ? ClearAfter : SilentAfter;

    /// <summary>Without a good reading for this long a spot is silent, and a reading this old is history.</summary>
    public TimeSpan SilentAfter => Interval * SilentIntervals;

    /// <summary>Of ice, readings further apart than this do not follow each other: what a day's curve takes for a gap, or the silent span where readings are rare.</summary>
    public TimeSpan LongestIceGap => SilentAfter > LeastIceGap ? SilentAfter : LeastIceGap;

    /// <summary>Whether a reading says how the spot is now: not as old as the silent span, and not dated later than an interval from now.</summary>
    /// <param name="measuredAt">When it was measured, by the clock of <paramref name="now"/>.</param>
    /// <param name="now">Now, UTC.</param>
    public bool IsCurrent(DateTimeOffset measuredAt, DateTimeOffset now) =>
        now - measuredAt < SilentAfter && measuredAt - now <= Interval;

    /// <summary>[°C] At or under this it eases.</summary>
    public double EasedCelsius => LimitCelsius - EasingKelvin;

    /// <summary>What the steps look at; the cold is reckoned with its sign turned over.</summary>
    internal AlertSide Side { get; init; }

    /// <summary>[°C] The limit as the steps see it.</summary>
    internal double Threshold => Side == AlertSide.Cold ? -ColdLimitCelsius : LimitCelsius;

    /// <summary>Who last changed it.</summary>
    internal Surfaces.LimitChanger ChangedBy => Side == AlertSide.Cold ? ColdLimitChangedBy : LimitChangedBy;

    /// <summary>[°C] Where it eases, as the steps see it.</summary>
    internal double EasedThreshold => Threshold - EasingKelvin;

    /// <summary>[°C] From here it freezes, as the steps see it; heat never does.</summary>
    internal double FreezingThreshold => Side == AlertSide.Cold ? -GroundWords.FreezingUpToCelsius : double.PositiveInfinity;

    /// <summary>[°C] From here it burns in seconds, or is bitter, as the steps see it.</summary>
    internal double ExtremeThreshold => Side == AlertSide.Cold ? -GroundWords.BitterBelowCelsius : GroundWords.BurnsFromCelsius;

    private static T Within<T>(T value, T min, T max, [CallerMemberName] string name = "")
        where T : IComparable<T> =>
        value.CompareTo(min) >= 0 && value.CompareTo(max) <= 0
            ? value
            : throw new ArgumentOutOfRangeException(name, value, $"{name} is {value}, expected {min} to {max}");
}
