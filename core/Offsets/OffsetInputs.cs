namespace PavementWatch.Core.Offsets;

/// <summary>What besides the air's temperature an offset may look at.</summary>
[Flags]
public enum OffsetInputs
{
    /// <summary>The air's temperature alone.</summary>
    AirOnly = 0,

    /// <summary>Relative humidity.</summary>
    Humidity = 1,

    /// <summary>Wind speed.</summary>
    Wind = 2,

    /// <summary>Measured global irradiance.</summary>
    Solar = 4,

    /// <summary>Everything.</summary>
    All = Humidity | Wind | Solar,
}
