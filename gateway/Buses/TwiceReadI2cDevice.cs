using System.Device.I2c;

namespace PavementWatch.Gateway.Buses;

/// <summary>
/// For sensors whose frames carry no check byte: a frame counts once it was read twice in a row alike. A sensor may
/// renew its register between two reads, so up to <see cref="Attempts"/> are made.
/// </summary>
/// <param name="wire">The device below.</param>
/// <param name="registers">
/// Whether the sensor has numbered registers: then a single written byte is a register's number, kept and sent with
/// each read, so that a number damaged on the wire is noticed too. Otherwise it is a command and sent once.
/// </param>
/// <param name="forgets">A register that does not keep what is written, such as a reset; the others are read back.</param>
internal sealed class TwiceReadI2cDevice(I2cDevice wire, bool registers, byte? forgets = null) : CheckedI2cDevice(wire)
{
    /// <summary>Most reads for one frame.</summary>
    public const int Attempts = 4;

    private byte? _register;

    public override void Write(ReadOnlySpan<byte> buffer)
    {
        if (registers && buffer.Length == 1)
        {
            _register = buffer[0];
            return;
        }

        _register = null;
        Wire.Write(buffer);
        if (registers && buffer.Length > 1 && buffer[0] != forgets)
            ReadBack(buffer);
    }

    public override void Read(Span<byte> buffer)
    {
        Span<byte> second = stackalloc byte[buffer.Length];
        Once(buffer);
        for (var attempt = 1; attempt < Attempts; attempt++)
        {
            Once(second);
            if (buffer.SequenceEqual(second))
                return;
            second.CopyTo(buffer);
        }

        throw new RefusedFrameException(RejectReason.CheckByte,
            $"{Attempts} reads in a row all differ, expected two alike; look for a loose or long bus cable");
    }

    public override void WriteRead(ReadOnlySpan<byte> writeBuffer, Span<byte> readBuffer)
    {
        Write(writeBuffer);
        Read(readBuffer);
    }

    private void Once(Span<byte> buffer)
    {
        if (_register is { } register)
            Wire.WriteRead([register], buffer);
        else
            Wire.Read(buffer);
    }

    private void ReadBack(ReadOnlySpan<byte> written)
    {
        _register = written[0];
        Span<byte> found = stackalloc byte[written.Length - 1];
        Read(found);
        if (!found.SequenceEqual(written[1..]))
            throw new RefusedFrameException(RejectReason.CheckByte,
                $"register 0x{written[0]:X2} holds {Convert.ToHexString(found)} after writing " +
                $"{Convert.ToHexString(written[1..])}; look for a loose or long bus cable");
    }
}
