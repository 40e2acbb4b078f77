using System.Buffers.Binary;
using System.Globalization;
using PavementWatch.Gateway.Buses;

namespace PavementWatch.Gateway.Simulation;

/// <summary>What the kernel's file says of a simulated DS18B20.</summary>
internal static class SimulatedDs18b20
{
    /// <summary>The file for a temperature.</summary>
    /// <param name="celsius">[°C] −55 to 125.</param>
    public static string File(double celsius)
    {
        var raw = (short)Math.Round(Math.Clamp(celsius, -55, 125) * 16);
        Span<byte> bytes = [0, 0, 0x4B, 0x46, 0x7F, 0xFF, 0x0C, 0x10, 0];
        BinaryPrimitives.WriteInt16LittleEndian(bytes, raw);
        bytes[8] = Crc8.Maxim(bytes[..8]);
        return File(bytes);
    }

    /// <summary>The file for nine bytes, with the kernel's verdict on their check byte.</summary>
    public static string File(ReadOnlySpan<byte> bytes)
    {
        var hex = string.Join(' ', bytes.ToArray().Select(b => b.ToString("x2", CultureInfo.InvariantCulture)));
        var raw = BinaryPrimitives.ReadInt16LittleEndian(bytes);
        var verdict = Crc8.Maxim(bytes[..8]) == bytes[8] ? "YES" : "NO";
        return $"{hex} : crc={bytes[8]:x2} {verdict}\n{hex} t={raw * 1000 / 16}\n";
    }
}
