using System.Buffers.Binary;
using System.Device.I2c;
using PavementWatch.Gateway.Buses;

namespace PavementWatch.Gateway.Sensors.Mlx90614;

/// <summary>
/// The MLX90614's SMBus frames with their packet error code. The binding asks for two bytes and would take them as they
/// come; we ask for three, check, and hand it two.
/// </summary>
internal sealed class Mlx90614Wire(I2cDevice wire) : CheckedI2cDevice(wire)
{
    /// <summary>Sensor's own temperature.</summary>
    public const byte BodyCommand = 0x06;

    /// <summary>Emissivity cell in the EEPROM.</summary>
    public const byte EmissivityCommand = 0x24;

    /// <summary>Address cell in the EEPROM.</summary>
    public const byte AddressCommand = 0x2E;

    private const byte FirstEepromCommand = 0x20;

    public override void Read(Span<byte> buffer) =>
        throw new NotSupportedException("The MLX90614 answers only after a command in the same transfer");

    public override void WriteRead(ReadOnlySpan<byte> writeBuffer, Span<byte> readBuffer)
    {
        ArgumentOutOfRangeException.ThrowIfNotEqual(writeBuffer.Length, 1);
        ArgumentOutOfRangeException.ThrowIfNotEqual(readBuffer.Length, 2);
        BinaryPrimitives.WriteUInt16LittleEndian(readBuffer, ReadWord(writeBuffer[0]));
    }

    /// <summary>Reads a word from RAM or EEPROM.</summary>
    /// <param name="command">Its command.</param>
    /// <returns>The word; for RAM its error bit is not set.</returns>
    /// <exception cref="RefusedFrameException">The check byte or the error bit.</exception>
    public ushort ReadWord(byte command)
    {
        Span<byte> answer = stackalloc byte[3];
        Wire.WriteRead([command], answer);
        var address = (byte)(Address << 1);
        var expected = Crc8.Smbus([address, command, (byte)(address | 1), answer[0], answer[1]]);
        if (answer[2] != expected)
            throw new RefusedFrameException(RejectReason.CheckByte,
                $"check byte 0x{answer[2]:X2}, expected 0x{expected:X2}; look for a loose or long bus cable");

        var word = BinaryPrimitives.ReadUInt16LittleEndian(answer);
        if (command < FirstEepromCommand && (word & 0x8000) != 0)
            throw new RefusedFrameException(RejectReason.ErrorFlag,
                $"the sensor flags its value 0x{word:X4} as wrong, expected below 0x8000; " +
                "let it warm up a second, then replace it");
        return word;
    }

    /// <summary>Writes a word to the EEPROM: erases, writes, and reads back. Takes effect when the sensor is next powered.</summary>
    /// <param name="command">The cell's command.</param>
    /// <param name="word">What to write.</param>
    /// <param name="wait">Lets 5 ms and more pass after each step, as the cells need.</param>
    /// <exception cref="RefusedFrameException">The cell does not hold the word afterwards.</exception>
    public void WriteCell(byte command, ushort word, Action<TimeSpan> wait)
    {
        foreach (var value in (ReadOnlySpan<ushort>)[0, word])
        {
            var low = (byte)(value & 0xFF);
            var high = (byte)(value >> 8);
            Wire.Write([command, low, high, Crc8.Smbus([(byte)(Address << 1), command, low, high])]);
            wait(TimeSpan.FromMilliseconds(10));
        }

        if (ReadWord(command) is var found && found != word)
            throw new RefusedFrameException(RejectReason.CheckByte,
                $"cell 0x{command:X2} holds 0x{found:X4} after writing 0x{word:X4}; try again with a shorter cable");
    }
}
