using System.Buffers.Binary;

namespace PavementWatch.Gateway.Simulation;

/// <summary>A BH1750 as its data sheet describes it on the wire: power, modes, measuring time.</summary>
/// <param name="measure">[lx] Illuminance.</param>
internal sealed class SimulatedBh1750(Func<double> measure) : SimulatedChip
{
    private bool _powered;
    private int _mode;
    private int _measurementTime = 69;

    /// <summary>A word sent in place of the measured one, when set.</summary>
    public ushort? Word { get; set; }

    public override void Write(ReadOnlySpan<byte> bytes)
    {
        if (bytes.Length != 1)
            throw NotAcknowledged();
        switch (bytes[0])
        {
            case 0x00:
                _powered = false;
                break;
            case 0x01:
                _powered = true;
                break;
            case 0x10 or 0x11 or 0x13:
                _mode = _powered ? bytes[0] : 0;
                break;
            case var high when (high & 0xF8) == 0x40:
                _measurementTime = (_measurementTime & 0x1F) | ((high & 0x07) << 5);
                break;
            case var low when (low & 0xE0) == 0x60:
                _measurementTime = (_measurementTime & 0xE0) | (low & 0x1F);
                break;
        }
    }

    public override void Read(Span<byte> bytes)
    {
        bytes.Fill(0xFF);
        Span<byte> word = stackalloc byte[2];
        BinaryPrimitives.WriteUInt16BigEndian(word, Word ?? Raw());
        word[..Math.Min(2, bytes.Length)].CopyTo(bytes);
    }

    public override void PowerCycle()
    {
        _powered = false;
        _mode = 0;
        _measurementTime = 69;
    }

    private ushort Raw()
    {
        if (_mode == 0)
            return 0;
        var counts = measure() * 1.2 * _measurementTime / 69.0 * (_mode == 0x11 ? 2 : 1);
        return (ushort)Math.Clamp(Math.Round(counts), 0, 65535);
    }
}
