using System.Device.I2c;
using PavementWatch.Core.Surfaces;
using PavementWatch.Gateway.Buses;
using Binding = Iot.Device.Mlx90614.Mlx90614;

namespace PavementWatch.Gateway.Sensors.Mlx90614;

/// <summary>Infrared thermometer MLX90614: what the surface radiates, and the sensor's own body. See README.md here.</summary>
internal sealed class Mlx90614Sensor : ISensor
{
    /// <summary>Address of a new sensor.</summary>
    public const int FactoryAddress = 0x5A;

    private readonly Binding _binding;
    private readonly double _emissivityFraction;

    /// <param name="device">The sensor's place on the bus.</param>
    /// <exception cref="RefusedFrameException">A frame failed its check, or the emissivity kept inside is impossible.</exception>
    /// <exception cref="IOException">Nobody answers.</exception>
    public Mlx90614Sensor(I2cDevice device)
    {
        var wire = new Mlx90614Wire(device);
        var cell = wire.ReadWord(Mlx90614Wire.EmissivityCommand);
        _emissivityFraction = cell / 65535.0;
        if (_emissivityFraction < 0.0999)
            throw new RefusedFrameException(RejectReason.OutOfRange,
                $"emissivity cell 0x{cell:X4} is {_emissivityFraction:F2}, expected 0.10 to 1.00; run 'gateway mlx90614 --reset-emissivity'");
        _binding = new Binding(wire);
    }

    public ReadOutcome Read()
    {
        var body = _binding.ReadAmbientTemperature().DegreesCelsius;
        var seen = _binding.ReadObjectTemperature().DegreesCelsius;
        if (body is < -40 or > 125)
            return OutOfRange("own temperature", body, -40, 125);
        if (seen is < -70.01 or > 382.2)
            return OutOfRange("object temperature", seen, -70.01, 382.19);

        // A sensor told an emissivity has corrected with its own body as surroundings; we undo that and correct with the sky.
        if (_emissivityFraction < 0.9999)
            seen = GreyBody.ApparentCelsius(seen, body, _emissivityFraction);
        return new ReadOutcome.Measured(new ProbeValues { ApparentCelsius = seen, SensorCelsius = body });
    }

    public void Dispose() => _binding.Dispose();

    private static ReadOutcome.Rejected OutOfRange(string what, double celsius, double min, double max) =>
        new(RejectReason.OutOfRange,
            $"{what} is {celsius:F2} °C, expected {min} to {max} °C; the sensor is not an MLX90614 or is broken");
}
