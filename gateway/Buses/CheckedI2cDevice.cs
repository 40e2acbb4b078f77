using System.Device.I2c;

namespace PavementWatch.Gateway.Buses;

/// <summary>
/// Stands between a binding and the wire and lets through only what passed its sensor's checks; the rest leaves as
/// <see cref="RefusedFrameException"/>. Disposing it leaves the device below open: a binding may be made anew on that.
/// </summary>
internal abstract class CheckedI2cDevice(I2cDevice wire) : I2cDevice
{
    public override I2cConnectionSettings ConnectionSettings => wire.ConnectionSettings;

    /// <summary>The device below.</summary>
    protected I2cDevice Wire => wire;

    /// <summary>Its address, for messages and packet error codes.</summary>
    protected int Address => wire.ConnectionSettings.DeviceAddress;

    public override byte ReadByte()
    {
        Span<byte> one = stackalloc byte[1];
        Read(one);
        return one[0];
    }

    public override void WriteByte(byte value) => Write([value]);

    public override void Write(ReadOnlySpan<byte> buffer) => wire.Write(buffer);
}
