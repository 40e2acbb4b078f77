namespace PavementWatch.Core.Alerts;

/// <summary>Why a spot changed. Stored, shown and counted.</summary>
public enum AlertReason
{
    /// <summary>No good reading for the silent span.</summary>
    NoGoodReading = 0,

    /// <summary>Good readings at or over the limit, as many as the rule asks for.</summary>
    ReadingsOverLimit,

    /// <summary>A good reading at or over the limit while it was easing.</summary>
    OverLimitAgain,

    /// <summary>The line through the newest readings reaches the limit.</summary>
    TrendReachesLimit,

    /// <summary>The fitted offset's forecast reaches the limit.</summary>
    ForecastReachesLimit,

    /// <summary>Neither trend nor forecast has reached the limit for the clearing span; what walkers were told of it stands.</summary>
    RiseEnded,

    /// <summary>Under the limit by the margin.</summary>
    UnderByMargin,

    /// <summary>Under the limit by the margin for long enough: it is over.</summary>
    UnderLongEnough,

    /// <summary>Good readings have come back after silence.</summary>
    ReadingsBack,

    /// <summary>Silent, and the estimate's upper end is at or over the limit.</summary>
    EstimateOverLimit,

    /// <summary>Silent, and readings in doubt are at or over the limit.</summary>
    DoubtfulOverLimit,

    /// <summary>Silent, and the estimate's upper end has been under the limit by the margin for long enough.</summary>
    EstimateUnderLongEnough,

    /// <summary>Too hot was told before, and now good readings say that it burns in seconds; of the cold, that it is bitter.</summary>
    ReadingsExtreme,

    /// <summary>Silent; too hot was told before, and now the estimate's upper end says that it may burn in seconds; of the cold, that it may be bitter.</summary>
    EstimateExtreme,

    /// <summary>Under the limit by the margin, for now: it fell as under a cloud, and the sun would take it back to the limit.</summary>
    UnderInCloud,

    /// <summary>Under the limit by the margin, for the limit was raised (that of the cold lowered): the ground is as hot as what walkers were told of.</summary>
    LimitRaised,

    /// <summary>It is over, for the limit was raised (that of the cold lowered): the ground, or the estimate's upper end, is as hot as what walkers were told of.</summary>
    UnderRaisedLimit,

    /// <summary>What walkers were told of a rise is called off: readings are under the limit by the margin, and nothing takes it there while an all-clear has to hold.</summary>
    RiseCalledOff,

    /// <summary>Of the cold alone: too cold was told before, by a limit over freezing, and now good readings say that it freezes.</summary>
    ReadingsFreezing,

    /// <summary>Of the cold alone, silent: too cold was told before, by a limit over freezing, and now the estimate's lower end says that it may freeze.</summary>
    EstimateFreezing,
}
