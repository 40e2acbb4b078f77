using System.Buffers.Binary;
using System.Device.I2c;
using PavementWatch.Gateway.Buses;
using Binding = Iot.Device.Adc.Ina219;

namespace PavementWatch.Gateway.Sensors.Ina219;

/// <summary>Supply voltage, INA219. See README.md here.</summary>
internal sealed class Ina219Sensor : ISensor
{
    /// <summary>Address with both pins low.</summary>
    public const int FactoryAddress = 0x40;

    private const byte SettingsRegister = 0x00;

    // 32 V range, bus voltage only, on and on, each the mean of 128: a register that stays while it is read twice.
    private const ushort Settings = 0x3F9E;
    private const double MostVolts = 26;

    // The binding takes the word for signed, so that above 16.38 V it gives this much too little.
    private const double SignVolts = 32.768;

    private static readonly TimeSpan FirstMean = TimeSpan.FromMilliseconds(70);

    private readonly TwiceReadI2cDevice _wire;
    private readonly Binding _binding;

    /// <param name="device">The sensor's place on the bus.</param>
    /// <param name="buses">Lets the first mean finish.</param>
    /// <exception cref="RefusedFrameException">It did not take its settings.</exception>
    /// <exception cref="IOException">Nobody answers.</exception>
    public Ina219Sensor(I2cDevice device, IBuses buses)
    {
        _wire = new TwiceReadI2cDevice(device, registers: true);
        _wire.Write([SettingsRegister, Settings >> 8, Settings & 0xFF]);
        buses.Wait(FirstMean);
        _binding = new Binding(_wire);
    }

    public ReadOutcome Read()
    {
        Span<byte> word = stackalloc byte[2];
        _wire.WriteRead([SettingsRegister], word);
        if (BinaryPrimitives.ReadUInt16BigEndian(word) is var settings && settings != Settings)
            return new ReadOutcome.Rejected(RejectReason.NotReady,
                $"settings 0x{settings:X4}, expected 0x{Settings:X4}; it lost its power and is set up anew");

        var volts = _binding.ReadBusVoltage().Volts;
        if (volts < 0)
            volts += SignVolts;
        return volts > MostVolts
            ? new ReadOutcome.Rejected(RejectReason.OutOfRange,
                $"{volts:F2} V, expected 0 to {MostVolts} V; switch off at once and check the supply")
            : new ReadOutcome.Measured(new ProbeValues { SupplyVolts = volts });
    }

    public void Dispose() => _binding.Dispose();
}
