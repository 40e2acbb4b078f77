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

    private const double AgreeingLux = 4;
    private const double AgreeingFraction = 0.02;
    private const double DuskLux = 20;

    private readonly I2cDevice _device;
    private readonly Bh1750fvi _binding;
    private double? _before;

    /// <param name="device">The sensor's place on the bus.</param>
    /// <param name="buses">Lets the first measurement finish.</param>
    /// <exception cref="IOException">Nobody answers.</exception>
    public Bh1750Sensor(I2cDevice device, IBuses buses)
    {
        _device = device;
        _binding = new Bh1750fvi(new Bh1750Wire(device), MeasuringMode.ContinuouslyHighResolutionMode);
        // Its settings cannot be read back: say them twice and see whether the light is the same.
        var first = Started(buses);
        var second = Started(buses);
        if (Math.Abs(first - second) > AgreeingLux + (AgreeingFraction * Math.Max(first, second)))
            throw new RefusedFrameException(RejectReason.NotReady,
                $"{first:F0} lx and {second:F0} lx after the same settings, expected the same; it is set up anew");
    }

    public ReadOutcome Read()
    {
        var lux = _binding.Illuminance.Lux;
        if (lux >= MostBindingLux - 0.1)
            return new ReadOutcome.Rejected(RejectReason.OutOfRange,
                "its largest value 0xFFFF; too bright, or the data line is not connected");
        // No evening is that short: it lost its power and with it its settings, or has got them back.
        if (_before is { } before && Math.Min(before, lux) == 0 && Math.Max(before, lux) > DuskLux)
            return new ReadOutcome.Rejected(RejectReason.NotReady,
                $"{lux:F0} lx right after {before:F0} lx; it may have lost its power and is set up anew");
        _before = lux;
        // In the dark a loss of power does not show: say the settings again, which harms nothing.
        if (lux == 0)
            Start();
        return new ReadOutcome.Measured(new ProbeValues { LightLux = lux * LuxPerBindingLux });
    }

    public void Dispose() => _binding.Dispose();

    private double Started(IBuses buses)
    {
        Start();
        buses.Wait(FirstMeasurement);
        return _binding.Illuminance.Lux;
    }

    private void Start()
    {
        _device.WriteByte(PowerOn);
        // The binding can set the measuring time too, but then divides by the ratio where the data sheet multiplies.
        _device.WriteByte(0x40 | (MeasurementTime >> 5));
        _device.WriteByte(0x60 | (MeasurementTime & 0x1F));
        _device.WriteByte(ContinuousMode);
    }
}
