using System.Device.I2c;
using Iot.Device.Bh1750fvi;
using PavementWatch.Gateway.Buses;

namespace PavementWatch.Gateway.Sensors.Bh1750;

/// <summary>Light sensor BH1750: a cheap hint of sun. See README.md here.</summary>
internal sealed class Bh1750Sensor : ISensor
{
    /// <summary>Address with the ADDR pin low.</summary>
    public const int FactoryAddress = 0x23;

    // The shortest measurement the data sheet allows; the longest light: 121 557 lx, more than full sun.
    private const int MeasurementTime = 31;
    private const byte PowerOn = 0x01;
    private const byte ContinuousMode = 0x10;
    private const double DefaultMeasurementTime = 69;
    private const double LuxPerBindingLux = DefaultMeasurementTime / MeasurementTime;
    private const double MostBindingLux = 65535 / 1.2;

    private static readonly TimeSpan FirstMeasurement = TimeSpan.FromMilliseconds(180);

    private readonly I2cDevice _device;
    private readonly Bh1750fvi _binding;

    /// <param name="device">The sensor's place on the bus.</param>
    /// <param name="buses">Lets the first measurement finish.</param>
    /// <exception cref="IOException">Nobody answers.</exception>
    public Bh1750Sensor(I2cDevice device, IBuses buses)
    {
        _device = device;
        _binding = new Bh1750fvi(new Bh1750Wire(device), MeasuringMode.ContinuouslyHighResolutionMode);
        Start();
        buses.Wait(FirstMeasurement);
    }

    public ReadOutcome Read()
    {
        var lux = _binding.Illuminance.Lux;
        if (lux >= MostBindingLux - 0.1)
            return new ReadOutcome.Rejected(RejectReason.OutOfRange,
                "its largest value 0xFFFF; too bright, or the data line is not connected");
        // Dark, or it was unplugged and lost its settings, which cannot be read back: say them again, which harms neither.
        if (lux == 0)
            Start();
        return new ReadOutcome.Measured(new ProbeValues { LightLux = lux * LuxPerBindingLux });
    }

    public void Dispose() => _binding.Dispose();

    private void Start()
    {
        _device.WriteByte(PowerOn);
        // The binding can set the measuring time too, but then divides by the ratio where the data sheet multiplies.
        _device.WriteByte(0x40 | (MeasurementTime >> 5));
        _device.WriteByte(0x60 | (MeasurementTime & 0x1F));
        _device.WriteByte(ContinuousMode);
    }
}
