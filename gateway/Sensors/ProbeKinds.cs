using System.Device.I2c;
using PavementWatch.Gateway.Buses;
using PavementWatch.Gateway.Sensors.Bh1750;
using PavementWatch.Gateway.Sensors.Bme280;
using PavementWatch.Gateway.Sensors.Ina219;
using PavementWatch.Gateway.Sensors.Mlx90614;
using PavementWatch.Gateway.Sensors.Sht3x;
using PavementWatch.Gateway.Sensors.Sht4x;
using PavementWatch.Gateway.Sensors.Shtc3;

namespace PavementWatch.Gateway.Sensors;

/// <summary>What is known of each kind of probe: the one place to enter a new one.</summary>
internal static class ProbeKinds
{
    /// <summary>The sensor's name as printed on it.</summary>
    public static string Name(ProbeKind kind) => kind.ToString().ToUpperInvariant() switch
    {
        "SHT3X" => "SHT3x",
        "SHT4X" => "SHT4x",
        var name => name,
    };

    /// <summary>Whether it measures a surface and so belongs to one spot.</summary>
    public static bool IsSurface(ProbeKind kind) => kind is ProbeKind.Mlx90614 or ProbeKind.Ds18b20;

    /// <summary>Whether it hangs on an I2C bus.</summary>
    public static bool IsI2c(ProbeKind kind) => kind is not (ProbeKind.None or ProbeKind.Ds18b20);

    /// <summary>Its address as it leaves the factory; <c>null</c> for what has none.</summary>
    public static int? FactoryAddress(ProbeKind kind) => kind switch
    {
        ProbeKind.Mlx90614 => Mlx90614Sensor.FactoryAddress,
        ProbeKind.Sht3x => Sht3xSensor.FactoryAddress,
        ProbeKind.Sht4x => Sht4xSensor.FactoryAddress,
        ProbeKind.Shtc3 => Shtc3Sensor.FactoryAddress,
        ProbeKind.Bme280 => Bme280Sensor.FactoryAddress,
        ProbeKind.Bh1750 => Bh1750Sensor.FactoryAddress,
        ProbeKind.Ina219 => Ina219Sensor.FactoryAddress,
        _ => null,
    };

    /// <summary>Opens an I2C sensor.</summary>
    /// <exception cref="RefusedFrameException">It is not what it should be.</exception>
    /// <exception cref="IOException">Nobody answers.</exception>
    public static ISensor Open(ProbeKind kind, I2cDevice device, IBuses buses) => kind switch
    {
        ProbeKind.Mlx90614 => new Mlx90614Sensor(device),
        ProbeKind.Sht3x => new Sht3xSensor(device, buses),
        ProbeKind.Sht4x => new Sht4xSensor(device, buses),
        ProbeKind.Shtc3 => new Shtc3Sensor(device, buses),
        ProbeKind.Bme280 => new Bme280Sensor(device, buses),
        ProbeKind.Bh1750 => new Bh1750Sensor(device, buses),
        ProbeKind.Ina219 => new Ina219Sensor(device, buses),
        _ => throw new ArgumentOutOfRangeException(nameof(kind), kind, "not a sensor on I2C"),
    };
}
