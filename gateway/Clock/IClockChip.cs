namespace PavementWatch.Gateway.Clock;

/// <summary>A clock with a battery of its own (DS3231), believed until the network's time is there.</summary>
internal interface IClockChip
{
    /// <summary>Whether the settings say that there is one.</summary>
    bool IsFitted { get; }

    /// <summary>What it says; <c>null</c> when it does not answer or its battery ran out.</summary>
    DateTimeOffset? Read();

    /// <summary>Sets it, when the network's time is known.</summary>
    void Set(DateTimeOffset now);
}
