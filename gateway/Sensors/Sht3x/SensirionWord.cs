using System.Buffers.Binary;
using PavementWatch.Gateway.Buses;

namespace PavementWatch.Gateway.Sensors.Sht3x;

/// <summary>Sensirion's words: two bytes, high one first, and a check byte.</summary>
internal static class SensirionWord
{
    /// <summary>Bytes a word takes on the wire.</summary>
    public const int Length = 3;

    /// <summary>Takes a word out of a frame.</summary>
    /// <param name="frame">What came over the wire.</param>
    /// <param name="index">Which word.</param>
    /// <returns>The word.</returns>
    /// <exception cref="RefusedFrameException">Its check byte is wrong.</exception>
    public static ushort At(ReadOnlySpan<byte> frame, int index)
    {
        var bytes = frame.Slice(index * Length, Length);
        var expected = Crc8.Sensirion(bytes[..2]);
        return bytes[2] == expected
            ? BinaryPrimitives.ReadUInt16BigEndian(bytes)
            : throw new RefusedFrameException(RejectReason.CheckByte,
                $"check byte 0x{bytes[2]:X2} of word {index + 1}, expected 0x{expected:X2}; look for a loose or long bus cable");
    }

    /// <summary>Puts a word and its check byte into a frame.</summary>
    public static void Put(Span<byte> frame, int index, ushort word)
    {
        var bytes = frame.Slice(index * Length, Length);
        BinaryPrimitives.WriteUInt16BigEndian(bytes, word);
        bytes[2] = Crc8.Sensirion(bytes[..2]);
    }
}
