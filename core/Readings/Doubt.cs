namespace PavementWatch.Core.Readings;

/// <summary>Why a reading is not good; several may hold at once. On the wire and in the store by name.</summary>
[Flags]
public enum Doubt
{
    /// <summary>No doubt.</summary>
    None = 0,

    /// <summary>Jumped further in one interval than a surface can; one that fell has not come back since.</summary>
    Spike = 1,

    /// <summary>The same value for longer than a surface can hold it.</summary>
    Stuck = 2,

    /// <summary>Under what the fitted offset expects while the sun is up, and neither air, sky nor a neighbour explains it.</summary>
    Disagrees = 4,

    /// <summary>Rain or a sprinkler: the ground or the sensor's window is wet, or was within the hour.</summary>
    Wet = 8,

    /// <summary>The infrared sensor's own body is warming, so its reading lags.</summary>
    SensorHeating = 16,

    /// <summary>Too few samples in the interval.</summary>
    FewSamples = 32,

    /// <summary>The gateway's clock was not known to be right.</summary>
    Clock = 64,

    /// <summary>A check byte or error flag of the sensor failed.</summary>
    CheckByte = 128,

    /// <summary>Outside the range of the sensor or of the world.</summary>
    OutOfRange = 256,
}
