namespace PavementWatch.Gateway.Buses;

/// <summary>The three eight-bit checks our sensors use. Each finds every error of up to eight bits in a row.</summary>
internal static class Crc8
{
    private static readonly byte[] SmbusTable = Table(0x07);
    private static readonly byte[] SensirionTable = Table(0x31);
    private static readonly byte[] MaximTable = ReflectedTable(0x8C);

    /// <summary>SMBus packet error code: x⁸+x²+x+1, start 0. System Management Bus specification, section on PEC.</summary>
    /// <param name="bytes">Every byte of the transfer, address bytes included.</param>
    public static byte Smbus(ReadOnlySpan<byte> bytes) => Run(SmbusTable, 0x00, bytes);

    /// <summary>Sensirion's check over two data bytes: polynomial 0x31, start 0xFF. SHT3x data sheet, "Checksum Calculation".</summary>
    /// <param name="bytes">The two bytes of a word, high one first.</param>
    public static byte Sensirion(ReadOnlySpan<byte> bytes) => Run(SensirionTable, 0xFF, bytes);

    /// <summary>Maxim's 1-wire check: x⁸+x⁵+x⁴+1 reflected, start 0; over data and check byte it is 0.</summary>
    /// <param name="bytes">The bytes as they come from the wire.</param>
    public static byte Maxim(ReadOnlySpan<byte> bytes) => Run(MaximTable, 0x00, bytes);

    private static byte Run(byte[] table, byte crc, ReadOnlySpan<byte> bytes)
    {
        foreach (var value in bytes)
            crc = table[crc ^ value];
        return crc;
    }

    private static byte[] Table(int polynomial)
    {
        var table = new byte[256];
        for (var i = 0; i < table.Length; i++)
        {
            var crc = i;
            for (var bit = 0; bit < 8; bit++)
                crc = (crc & 0x80) != 0 ? ((crc << 1) ^ polynomial) & 0xFF : crc << 1;
            table[i] = (byte)crc;
        }

        return table;
    }

    private static byte[] ReflectedTable(int polynomial)
    {
        var table = new byte[256];
        for (var i = 0; i < table.Length; i++)
        {
            var crc = i;
            for (var bit = 0; bit < 8; bit++)
                crc = (crc & 1) != 0 ? (crc >> 1) ^ polynomial : crc >> 1;
            table[i] = (byte)crc;
        }

        return table;
    }
}
