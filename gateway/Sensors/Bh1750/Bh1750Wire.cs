using System.Device.I2c;
using PavementWatch.Gateway.Buses;

namespace PavementWatch.Gateway.Sensors.Bh1750;

/// <summary>
/// The BH1750 has no check byte and no way to read a command back: a word counts once read twice alike. The binding
/// starts measuring anew before each read; that command is kept back, so that the word read is a finished one.
/// </summary>
internal sealed class Bh1750Wire(I2cDevice wire) : CheckedI2cDevice(wire)
{
    private const byte ContinuousMode = 0x10;

    private readonly TwiceReadI2cDevice _twice = new(wire, registers: false);

    public override void Write(ReadOnlySpan<byte> buffer)
    {
        // The adapter has started it; starting anew with each read would let a damaged command spoil what is read next.
        if (buffer is not [ContinuousMode])
            Wire.Write(buffer);
    }

    public override void Read(Span<byte> buffer) => _twice.Read(buffer);

    public override void WriteRead(ReadOnlySpan<byte> writeBuffer, Span<byte> readBuffer) =>
        throw new NotSupportedException("The BH1750 takes commands and reads apart");
}
