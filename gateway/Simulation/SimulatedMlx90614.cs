using System.Buffers.Binary;
using PavementWatch.Core.Surfaces;
using PavementWatch.Gateway.Buses;

namespace PavementWatch.Gateway.Simulation;

/// <summary>An MLX90614 as its data sheet describes it on the wire: RAM, EEPROM, packet error codes, error bit.</summary>
/// <param name="address">Its address; part of every packet error code.</param>
/// <param name="measure">[°C] What it sees (black) and its own body.</param>
internal sealed class SimulatedMlx90614(int address, Func<(double ApparentCelsius, double BodyCelsius)> measure) : SimulatedChip
{
    private readonly ushort[] _eeprom = NewEeprom(address);
    private double _emissivityFraction = 1;

    /// <summary>Sets the error bit of every temperature, as a broken sensor does.</summary>
    public bool Broken { get; set; }

    /// <summary>A word sent in place of the object temperature, when set.</summary>
    public ushort? ObjectWord { get; set; }

    public override void Write(ReadOnlySpan<byte> bytes)
    {
        // Command, low, high, check byte: anything else, or a wrong check byte, is not acknowledged.
        if (bytes.Length != 4 || bytes[0] is < 0x20 or > 0x3F
            || bytes[3] != Crc8.Smbus([(byte)(address << 1), bytes[0], bytes[1], bytes[2]]))
            throw NotAcknowledged();
        var cell = bytes[0] - 0x20;
        var word = BinaryPrimitives.ReadUInt16LittleEndian(bytes[1..]);
        // Only erasing clears bits; the data sheet asks to erase first and does not say what happens otherwise.
        _eeprom[cell] = word == 0 ? (ushort)0 : (ushort)(_eeprom[cell] | word);
    }

    public override void Read(Span<byte> bytes) => bytes.Fill(0xFF);

    public override void WriteRead(ReadOnlySpan<byte> written, Span<byte> read)
    {
        if (written.Length != 1)
            throw NotAcknowledged();
        var word = Word(written[0]);
        Span<byte> frame = [(byte)(address << 1), written[0], (byte)((address << 1) | 1), (byte)(word & 0xFF), (byte)(word >> 8), 0];
        frame[5] = Crc8.Smbus(frame[..5]);
        read.Fill(0xFF);
        frame[3..Math.Min(6, 3 + read.Length)].CopyTo(read);
    }

    /// <summary>A new emissivity counts from here on.</summary>
    public override void PowerCycle() => _emissivityFraction = _eeprom[0x04] / 65535.0;

    private ushort Word(byte command)
    {
        switch (command)
        {
            case 0x06:
                return Raw(measure().BodyCelsius);
            case 0x07 or 0x08:
                if (ObjectWord is { } word)
                    return word;
                var (apparent, body) = measure();
                return Raw(_emissivityFraction < 0.9999 ? GreyBody.SurfaceCelsius(apparent, body, _emissivityFraction) : apparent);
            case >= 0x20 and <= 0x3F:
                return _eeprom[command - 0x20];
            default:
                return 0;
        }
    }

    private ushort Raw(double celsius)
    {
        var raw = (ushort)Math.Clamp(Math.Round((celsius + 273.15) / 0.02), 0x27AD, 0x7FFF);
        return Broken ? (ushort)(raw | 0x8000) : raw;
    }

    private static ushort[] NewEeprom(int address)
    {
        var cells = new ushort[32];
        cells[0x04] = 0xFFFF;
        cells[0x0E] = (ushort)(0xBE00 | address);
        return cells;
    }
}
