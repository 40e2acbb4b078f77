using System.Device.I2c;
using PavementWatch.Gateway.Buses;
using PavementWatch.Gateway.Sensors.Sht3x;

namespace PavementWatch.Gateway.Sensors.Shtc3;

/// <summary>
/// Air temperature and humidity, SHTC3. No binding here: that of the library turns every temperature from 42.5 °C into
/// one far below zero, which is the range this gateway is for. See README.md here.
/// </summary>
internal sealed class Shtc3Sensor : ISensor
{
    /// <summary>Its only address.</summary>
    public const int FactoryAddress = 0x70;

    private const int ProductMask = 0x083F;
    private const int Product = 0x0807;

    private static readonly TimeSpan WakingTime = TimeSpan.FromMilliseconds(1);
    private static readonly TimeSpan MeasuringTime = TimeSpan.FromMilliseconds(13);

    private readonly I2cDevice _device;
    private readonly IBuses _buses;

    /// <param name="device">The sensor's place on the bus.</param>
    /// <param name="buses">Lets the measuring time pass.</param>
    /// <exception cref="RefusedFrameException">Something else answers, or its number failed its check.</exception>
    /// <exception cref="IOException">Nobody answers.</exception>
    public Shtc3Sensor(I2cDevice device, IBuses buses)
    {
        _device = device;
        _buses = buses;
        WorkSignal();
        _device.Write([0xEF, 0xC8]);
        Span<byte> frame = stackalloc byte[SensirionWord.Length];
        _device.Read(frame);
        var product = SensirionWord.At(frame, 0);
        if ((product & ProductMask) != Product)
            throw new RefusedFrameException(RejectReason.WrongDevice,
                $"product number 0x{product:X4}, expected 0x{Product:X4} in the bits 0x{ProductMask:X4}; another sensor has this address");
    }

    public ReadOutcome Read()
    {
        WorkSignal();
        // Temperature first, normal power, no clock stretching; then back to sleep, so that it does not warm itself.
        _device.Write([0x78, 0x66]);
        _buses.Wait(MeasuringTime);
        Span<byte> frame = stackalloc byte[2 * SensirionWord.Length];
        _device.Read(frame);
        _device.Write([0xB0, 0x98]);
        return new ReadOutcome.Measured(new ProbeValues
        {
            AirCelsius = AirCelsius(SensirionWord.At(frame, 0)),
            HumidityPercent = 100 * SensirionWord.At(frame, 1) / 65536.0,
        });
    }

    /// <summary>[°C] Temperature of a raw word; this family divides by 65536. SHTC3 data sheet, "Conversion of Sensor Output".</summary>
    public static double AirCelsius(ushort raw) => -45 + 175 * raw / 65536.0;

    public void Dispose()
    {
        // Asleep after each measurement.
    }

    private void WorkSignal()
    {
        _device.Write([0x35, 0x17]);
        _buses.Wait(WakingTime);
    }
}
