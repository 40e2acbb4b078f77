using System.Device.I2c;
using PavementWatch.Gateway.Buses;
using PavementWatch.Gateway.Sensors.Sht3x;
using Binding = Iot.Device.Sht4x.Sht4x;

namespace PavementWatch.Gateway.Sensors.Sht4x;

/// <summary>
/// Air temperature and humidity, SHT4x. The binding resets the sensor; measuring is ours, since the binding sleeps in
/// each measurement in real time. See README.md here.
/// </summary>
internal sealed class Sht4xSensor : ISensor
{
    /// <summary>Address of most of them; some are made for 0x45 or 0x46.</summary>
    public const int FactoryAddress = 0x44;

    private static readonly TimeSpan MeasuringTime = TimeSpan.FromMilliseconds(10);

    private readonly I2cDevice _device;
    private readonly IBuses _buses;
    private readonly Binding _binding;

    /// <param name="device">The sensor's place on the bus.</param>
    /// <param name="buses">Lets the measuring time pass.</param>
    /// <exception cref="RefusedFrameException">Its serial number failed its check.</exception>
    /// <exception cref="IOException">Nobody answers.</exception>
    public Sht4xSensor(I2cDevice device, IBuses buses)
    {
        _device = device;
        _buses = buses;
        _binding = new Binding(new PlainI2cDevice(device));
        Serial = Ask(0x89);
    }

    /// <summary>The sensor's serial number: tells one sensor from another put in its place.</summary>
    public (ushort High, ushort Low) Serial { get; }

    public ReadOutcome Read()
    {
        var (air, humidity) = Ask(0xFD);
        return new ReadOutcome.Measured(new ProbeValues
        {
            AirCelsius = Sht3xSensor.AirCelsius(air),
            HumidityPercent = HumidityPercent(humidity),
        });
    }

    /// <summary>[%] Relative humidity of a raw word, cut to 0 to 100 as the SHT4x data sheet asks, section 4.6.</summary>
    public static double HumidityPercent(ushort raw) => Math.Clamp(-6 + 125 * raw / 65535.0, 0, 100);

    public void Dispose() => _binding.Dispose();

    private (ushort First, ushort Second) Ask(byte command)
    {
        _device.Write([command]);
        _buses.Wait(MeasuringTime);
        Span<byte> frame = stackalloc byte[2 * SensirionWord.Length];
        _device.Read(frame);
        return (SensirionWord.At(frame, 0), SensirionWord.At(frame, 1));
    }
}
