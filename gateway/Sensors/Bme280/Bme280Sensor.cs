using System.Device.I2c;
using Iot.Device.Bmxx80.PowerMode;
using PavementWatch.Gateway.Buses;
using Binding = Iot.Device.Bmxx80.Bme280;
using Oversampling = Iot.Device.Bmxx80.Sampling;

namespace PavementWatch.Gateway.Sensors.Bme280;

/// <summary>Air temperature, humidity and pressure, BME280. See README.md here.</summary>
internal sealed class Bme280Sensor : ISensor
{
    /// <summary>Address with the SDO pin low.</summary>
    public const int FactoryAddress = 0x76;

    private const byte IdRegister = 0xD0;
    private const byte Id = 0x60;
    private const byte Bmp280Id = 0x58;

    // What the settings read back as when all three are measured once, on and on.
    private const byte HumiditySetting = 0x01;
    private const byte MeasureSetting = 0b001_001_11;

    private static readonly TimeSpan FirstMeasurement = TimeSpan.FromMilliseconds(30);

    private readonly Bme280Wire _wire;
    private readonly Binding _binding;

    /// <param name="device">The sensor's place on the bus.</param>
    /// <param name="buses">Lets the first measurement finish.</param>
    /// <exception cref="RefusedFrameException">Something else answers, or no two reads are alike.</exception>
    /// <exception cref="IOException">Nobody answers.</exception>
    public Bme280Sensor(I2cDevice device, IBuses buses)
    {
        _wire = new Bme280Wire(device);
        Span<byte> id = stackalloc byte[1];
        _wire.WriteRead([IdRegister], id);
        if (id[0] != Id)
            throw new RefusedFrameException(RejectReason.WrongDevice,
                $"chip id 0x{id[0]:X2}, expected 0x{Id:X2}; " +
                (id[0] == Bmp280Id ? "this is a BMP280, which has no humidity" : "another sensor has this address"));
        _binding = new Binding(_wire)
        {
            TemperatureSampling = Oversampling.UltraLowPower,
            PressureSampling = Oversampling.UltraLowPower,
            HumiditySampling = Oversampling.UltraLowPower,
        };
        _binding.SetPowerMode(Bmx280PowerMode.Normal);
        buses.Wait(FirstMeasurement);
    }

    public ReadOutcome Read()
    {
        _wire.TakePicture();
        if ((_wire[0xF2] & 0x07) != HumiditySetting || _wire[0xF4] != MeasureSetting)
            return new ReadOutcome.Rejected(RejectReason.NotReady,
                $"settings 0x{_wire[0xF2]:X2} 0x{_wire[0xF4]:X2}, expected 0x{HumiditySetting:X2} 0x{MeasureSetting:X2}; " +
                "it lost its power and is set up anew");
        if (IsReset(0xFA) || IsReset(0xF7) || (_wire[0xFD] == 0x80 && _wire[0xFE] == 0))
            return new ReadOutcome.Rejected(RejectReason.NotReady, "it has not measured yet; expected a value after 30 ms");

        if (!_binding.TryReadTemperature(out var air) || !_binding.TryReadHumidity(out var humidity)
            || !_binding.TryReadPressure(out var pressure))
            return new ReadOutcome.Rejected(RejectReason.NotReady, "a measurement is switched off, expected all three; it is set up anew");
        if (air.DegreesCelsius is not (>= -40 and <= 85))
            return OutOfRange("air", air.DegreesCelsius, "°C", "-40 to 85");
        if (pressure.Pascals is not (>= 30000 and <= 110000))
            return OutOfRange("pressure", pressure.Pascals, "Pa", "30000 to 110000");
        return new ReadOutcome.Measured(new ProbeValues
        {
            AirCelsius = air.DegreesCelsius,
            HumidityPercent = humidity.Percent,
            PressurePascals = pressure.Pascals,
        });
    }

    public void Dispose() => _binding.Dispose();

    // 0x80000: what the result registers hold before the first measurement.
    private bool IsReset(byte register) =>
        _wire[register] == 0x80 && _wire[(byte)(register + 1)] == 0 && (_wire[(byte)(register + 2)] & 0xF0) == 0;

    private static ReadOutcome.Rejected OutOfRange(string what, double value, string unit, string expected) =>
        new(RejectReason.OutOfRange, $"{what} is {value:F1} {unit}, expected {expected} {unit}; replace the sensor");
}
