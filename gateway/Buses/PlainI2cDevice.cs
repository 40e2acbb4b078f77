using System.Device.I2c;

namespace PavementWatch.Gateway.Buses;

/// <summary>Passes everything on: for a binding that only commands, so that disposing it leaves the device open.</summary>
internal sealed class PlainI2cDevice(I2cDevice wire) : CheckedI2cDevice(wire)
{
    public override void Read(Span<byte> buffer) => Wire.Read(buffer);

    public override void WriteRead(ReadOnlySpan<byte> writeBuffer, Span<byte> readBuffer) =>
        Wire.WriteRead(writeBuffer, readBuffer);
}
