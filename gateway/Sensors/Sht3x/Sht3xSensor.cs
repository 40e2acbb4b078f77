using System.Device.I2c;
using PavementWatch.Gateway.Buses;
using Binding = Iot.Device.Sht3x.Sht3x;

namespace PavementWatch.Gateway.Sensors.Sht3x;

/// <summary>
/// Air temperature and humidity, SHT3x. The binding resets the sensor and switches its heater; measuring is ours, since
/// the binding keeps its previous value when a check byte fails, takes temperature and humidity from two measurements,
/// and sleeps 20 ms in each. See README.md here.
/// </summary>
internal sealed class Sht3xSensor : ISensor
{
    /// <summary>Address with the ADDR pin low.</summary>
    public const int FactoryAddress = 0x44;

    private const ushort HeaterOnBit = 1 << 13;

    private static readonly TimeSpan MeasuringTime = TimeSpan.FromMilliseconds(16);

    private readonly I2cDevice _device;
    private readonly IBuses _buses;
    private readonly Binding _binding;

    /// <param name="device">The sensor's place on the bus.</param>
    /// <param name="buses">Lets the measuring time pass.</param>
    /// <exception cref="RefusedFrameException">Its status word failed its check.</exception>
    /// <exception cref="IOException">Nobody answers.</exception>
    public Sht3xSensor(I2cDevice device, IBuses buses)
    {
        _device = device;
        _buses = buses;
        _binding = new Binding(new PlainI2cDevice(device));
        if ((Status() & HeaterOnBit) != 0)
            throw new RefusedFrameException(RejectReason.NotReady, "its heater is on after a reset, expected off; replace the sensor");
    }

    /// <summary>Switches the sensor's heater, which warms it by a few kelvin: proof that it measures.</summary>
    public bool Heater
    {
        get => _binding.Heater;
        set => _binding.Heater = value;
    }

    public ReadOutcome Read()
    {
        // One measurement of both, high repeatability, without stretching the clock.
        _device.Write([0x24, 0x00]);
        _buses.Wait(MeasuringTime);
        Span<byte> frame = stackalloc byte[2 * SensirionWord.Length];
        _device.Read(frame);
        return new ReadOutcome.Measured(new ProbeValues
        {
            AirCelsius = AirCelsius(SensirionWord.At(frame, 0)),
            HumidityPercent = HumidityPercent(SensirionWord.At(frame, 1)),
        });
    }

    /// <summary>[°C] Temperature of a raw word, −45 to 130. SHT3x data sheet, "Conversion of Signal Output".</summary>
    public static double AirCelsius(ushort raw) => -45 + 175 * raw / 65535.0;

    /// <summary>[%] Relative humidity of a raw word, 0 to 100. Same place.</summary>
    public static double HumidityPercent(ushort raw) => 100 * raw / 65535.0;

    public void Dispose() => _binding.Dispose();

    private ushort Status()
    {
        Span<byte> frame = stackalloc byte[SensirionWord.Length];
        _device.WriteRead([0xF3, 0x2D], frame);
        return SensirionWord.At(frame, 0);
    }
}
