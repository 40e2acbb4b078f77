using System.Buffers.Binary;
using System.Globalization;
using PavementWatch.Gateway.Buses;

namespace PavementWatch.Gateway.Sensors.Ds18b20;

/// <summary>
/// Contact thermometer DS18B20 by the kernel's files. The binding reads the same file but believes its words without
/// looking at the bytes; we check those. See README.md here.
/// </summary>
/// <param name="buses">Where the kernel's files are.</param>
/// <param name="device">Its name, e.g. <c>28-0316a2795b1c</c>; <c>null</c> takes the only one there.</param>
internal sealed class Ds18b20Sensor(IBuses buses, string? device) : ISensor
{
    private const int Bytes = 9;

    // 0x0550: what the register holds after power-on, before the first conversion.
    private const int PowerOnRaw = 85 * 16;

    public ReadOutcome Read() => Parse(buses.ReadOneWire(device ?? Only()));

    /// <summary>Reads the kernel's two lines.</summary>
    /// <param name="text">Nine bytes and the kernel's verdict; the nine bytes again and thousandths of a degree.</param>
    public static ReadOutcome Parse(string text)
    {
        var lines = text.Split('\n', StringSplitOptions.RemoveEmptyEntries | StringSplitOptions.TrimEntries);
        Span<byte> bytes = stackalloc byte[Bytes];
        Span<byte> again = stackalloc byte[Bytes];
        if (lines.Length != 2 || !TryBytes(lines[0], bytes) || !TryBytes(lines[1], again))
            return new ReadOutcome.Rejected(RejectReason.CheckByte,
                $"its file holds {lines.Length} lines that are not two of nine bytes; look for a loose cable or a missing pull-up resistor");

        var expected = Crc8.Maxim(bytes[..8]);
        if (bytes[8] != expected)
            return new ReadOutcome.Rejected(RejectReason.CheckByte,
                $"check byte 0x{bytes[8]:X2}, expected 0x{expected:X2}; look for a loose or long cable");
        if (!lines[0].EndsWith(" YES", StringComparison.Ordinal) || !bytes.SequenceEqual(again))
            return new ReadOutcome.Rejected(RejectReason.CheckByte,
                "the kernel did not accept the bytes; look for a loose or long cable");
        // Nine zero bytes have a right check byte: a bus held low. No sensor sends them, its resolution byte is never 0.
        if (bytes[4] == 0)
            return new ReadOutcome.Rejected(RejectReason.NoAnswer,
                "all bytes are 0; the data line is held low, look for a short or a missing pull-up resistor");

        var raw = BinaryPrimitives.ReadInt16LittleEndian(bytes);
        if (raw == PowerOnRaw)
            return new ReadOutcome.Rejected(RejectReason.NotReady,
                "85 °C, its value after power-on before it has measured; check that its supply is steady");
        if (raw is < -55 * 16 or > 125 * 16)
            return new ReadOutcome.Rejected(RejectReason.OutOfRange,
                $"{raw / 16.0:F1} °C, expected -55 to 125 °C; the sensor is broken or not a DS18B20");
        var at = lines[1].IndexOf("t=", StringComparison.Ordinal);
        if (at < 0 || !int.TryParse(lines[1].AsSpan(at + 2), NumberStyles.AllowLeadingSign, CultureInfo.InvariantCulture, out var thousandths)
            || thousandths != raw * 1000 / 16)
            return new ReadOutcome.Rejected(RejectReason.CheckByte,
                $"the kernel says '{lines[1][Math.Max(at, 0)..]}', expected t={raw * 1000 / 16} from the bytes; read again");

        return new ReadOutcome.Measured(new ProbeValues { ContactCelsius = raw / 16.0 });
    }

    public void Dispose()
    {
        // Nothing is held open.
    }

    private string Only() => buses.OneWireDevices().Where(d => d.StartsWith("28-", StringComparison.Ordinal)).ToList() switch
    {
        [var one] => one,
        [] => throw new DirectoryNotFoundException("no DS18B20 found"),
        var many => throw new RefusedFrameException(RejectReason.WrongDevice,
            $"{many.Count} are on the bus ({string.Join(", ", many)}), expected one; name it with Device in its settings"),
    };

    private static bool TryBytes(string line, Span<byte> bytes)
    {
        if (line.Length < (3 * Bytes) - 1)
            return false;
        for (var i = 0; i < Bytes; i++)
        {
            var at = 3 * i;
            if (!byte.TryParse(line.AsSpan(at, 2), NumberStyles.AllowHexSpecifier, CultureInfo.InvariantCulture, out bytes[i])
                || (at + 2 < line.Length && line[at + 2] != ' '))
                return false;
        }

        return true;
    }
}
