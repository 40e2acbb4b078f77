using System.Buffers.Binary;

namespace PavementWatch.Gateway.Simulation;

/// <summary>An INA219 as its data sheet describes it on the wire: six registers of sixteen bits and a pointer.</summary>
/// <param name="measure">[V] Bus voltage.</param>
internal sealed class SimulatedIna219(Func<double> measure) : SimulatedChip
{
    private const ushort PowerOnSettings = 0x399F;
    private ushort _settings = PowerOnSettings;
    private ushort _calibration;
    private byte _pointer;

    /// <summary>A word sent in place of the measured bus voltage, when set.</summary>
    public ushort? BusWord { get; set; }

    public override void Write(ReadOnlySpan<byte> bytes)
    {
        if (bytes.Length is not (1 or 3))
            throw NotAcknowledged();
        _pointer = bytes[0];
        if (bytes.Length == 1)
            return;
        var word = BinaryPrimitives.ReadUInt16BigEndian(bytes[1..]);
        switch (_pointer)
        {
            case 0x00:
                _settings = (word & 0x8000) != 0 ? PowerOnSettings : word;
                break;
            case 0x05:
                _calibration = (ushort)(word & 0xFFFE);
                break;
        }
    }

    public override void Read(Span<byte> bytes)
    {
        bytes.Fill(0xFF);
        Span<byte> word = stackalloc byte[2];
        BinaryPrimitives.WriteUInt16BigEndian(word, _pointer switch
        {
            0x00 => _settings,
            0x02 => BusWord ?? Bus(),
            0x05 => _calibration,
            _ => 0,
        });
        word[..Math.Min(2, bytes.Length)].CopyTo(bytes);
    }

    public override void PowerCycle()
    {
        _settings = PowerOnSettings;
        _calibration = 0;
        _pointer = 0;
    }

    private ushort Bus()
    {
        var full = (_settings & 0x2000) != 0 ? 32 : 16;
        var steps = (int)Math.Round(Math.Clamp(measure(), 0, full) / 0.004);
        return (ushort)((steps << 3) | 2);
    }
}
