using PavementWatch.Gateway.Sensors.Sht3x;

namespace PavementWatch.Gateway.Simulation;

/// <summary>The answer of a simulated Sensirion sensor: two words with their check bytes, given once.</summary>
internal sealed class SensirionAnswer
{
    private readonly byte[] _frame = new byte[2 * SensirionWord.Length];
    private int _ready;

    /// <summary>Makes an answer of both words ready.</summary>
    public void Set((ushort First, ushort Second) words)
    {
        SensirionWord.Put(_frame, 1, words.Second);
        Set(words.First);
        _ready = _frame.Length;
    }

    /// <summary>Makes an answer of one word ready.</summary>
    public void Set(ushort word)
    {
        SensirionWord.Put(_frame, 0, word);
        _ready = SensirionWord.Length;
    }

    /// <summary>There is no answer any more.</summary>
    public void Clear() => _ready = 0;

    /// <summary>Gives the answer; the wire stays high behind it. Without one the sensor does not acknowledge its read address.</summary>
    public void Read(Span<byte> bytes)
    {
        if (_ready == 0)
            throw SimulatedChip.NotAcknowledged();
        bytes.Fill(0xFF);
        _frame.AsSpan(0, Math.Min(_ready, bytes.Length)).CopyTo(bytes);
        _ready = 0;
    }
}
