namespace PavementWatch.Core.Readings;

/// <summary>How far a reading may be trusted. The zero is the cautious one.</summary>
public enum ReadingQuality
{
    /// <summary>A check byte failed or a value was outside what the sensor or the world can give; not shown, not used.</summary>
    Rejected = 0,

    /// <summary>Kept and shown with its reason; never clears an alert and never trains a fit.</summary>
    Suspect = 1,

    /// <summary>Passed every check.</summary>
    Good = 2,
}
