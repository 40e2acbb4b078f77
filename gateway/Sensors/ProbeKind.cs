namespace PavementWatch.Gateway.Sensors;

/// <summary>Which sensor a probe is. The zero is none, so that a forgotten kind is noticed.</summary>
internal enum ProbeKind
{
    /// <summary>Not set.</summary>
    None = 0,

    /// <summary>Infrared thermometer for the surface.</summary>
    Mlx90614,

    /// <summary>Air temperature and humidity (SHT30, SHT31, SHT35).</summary>
    Sht3x,

    /// <summary>Air temperature and humidity (SHT40, SHT41, SHT45).</summary>
    Sht4x,

    /// <summary>Air temperature and humidity, small and frugal.</summary>
    Shtc3,

    /// <summary>Air temperature, humidity and pressure.</summary>
    Bme280,

    /// <summary>Contact thermometer on the 1-wire bus, for calibration or a buried spot.</summary>
    Ds18b20,

    /// <summary>Illuminance.</summary>
    Bh1750,

    /// <summary>Supply voltage.</summary>
    Ina219,
}
