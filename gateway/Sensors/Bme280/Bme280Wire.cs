using System.Device.I2c;
using PavementWatch.Gateway.Buses;

namespace PavementWatch.Gateway.Sensors.Bme280;

/// <summary>
/// The BME280 has no check byte, and the binding reads temperature and humidity one after the other, between which the
/// sensor may renew them. Settings and results are read here in one burst, twice alike, and the binding is served from
/// that picture.
/// </summary>
internal sealed class Bme280Wire(I2cDevice wire) : CheckedI2cDevice(wire)
{
    /// <summary>First register of the picture: settings for humidity.</summary>
    public const byte First = 0xF2;

    private const byte ResetRegister = 0xE0;
    private const int Length = 0xFE - First + 1;

    private readonly TwiceReadI2cDevice _twice = new(wire, registers: true, forgets: ResetRegister);
    private readonly byte[] _picture = new byte[Length];
    private bool _hasPicture;
    private byte _register;

    /// <summary>A register of the picture.</summary>
    public byte this[byte register] => _picture[register - First];

    /// <summary>Takes a new picture.</summary>
    /// <exception cref="RefusedFrameException">No two alike.</exception>
    public void TakePicture()
    {
        _hasPicture = false;
        _twice.WriteRead([First], _picture);
        _hasPicture = true;
    }

    public override void Write(ReadOnlySpan<byte> buffer)
    {
        if (buffer.Length > 1)
            _hasPicture = false;
        _register = buffer[0];
        _twice.Write(buffer);
    }

    public override void Read(Span<byte> buffer)
    {
        var at = _register - First;
        if (_hasPicture && at >= 0 && at + buffer.Length <= Length)
            _picture.AsSpan(at, buffer.Length).CopyTo(buffer);
        else
            _twice.WriteRead([_register], buffer);
    }

    public override void WriteRead(ReadOnlySpan<byte> writeBuffer, Span<byte> readBuffer)
    {
        Write(writeBuffer);
        Read(readBuffer);
    }
}
