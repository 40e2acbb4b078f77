using PavementWatch.Gateway.Buses;
using PavementWatch.Gateway.Sensors.Sht3x;

namespace PavementWatch.Gateway.Sensors.Sht4x;

/// <summary>An SHT4x as its data sheet describes it on the wire.</summary>
/// <param name="measure">[°C, %] Air temperature and relative humidity.</param>
internal sealed class SimulatedSht4x(Func<(double AirCelsius, double HumidityPercent)> measure) : SimulatedChip
{
    private readonly byte[] _answer = new byte[2 * SensirionWord.Length];
    private bool _ready;

    /// <summary>Words sent in place of the measured ones, when set.</summary>
    public (ushort Air, ushort Humidity)? Words { get; set; }

    public override void Write(ReadOnlySpan<byte> bytes)
    {
        if (bytes.Length != 1)
            throw NotAcknowledged();
        switch (bytes[0])
        {
            case 0xFD or 0xF6 or 0xE0:
                Answer(Words ?? Measure());
                break;
            case 0x89:
                Answer((0x1234, 0xABCD));
                break;
            case 0x94:
                PowerCycle();
                break;
            default:
                throw NotAcknowledged();
        }
    }

    public override void Read(Span<byte> bytes)
    {
        if (!_ready)
            throw NotAcknowledged();
        bytes.Fill(0xFF);
        _answer.AsSpan(0, Math.Min(_answer.Length, bytes.Length)).CopyTo(bytes);
        _ready = false;
    }

    public override void PowerCycle() => _ready = false;

    private void Answer((ushort First, ushort Second) words)
    {
        SensirionWord.Put(_answer, 0, words.First);
        SensirionWord.Put(_answer, 1, words.Second);
        _ready = true;
    }

    private (ushort Air, ushort Humidity) Measure()
    {
        var (air, humidity) = measure();
        return (Raw((air + 45) / 175), Raw((humidity + 6) / 125));
    }

    private static ushort Raw(double fraction) => (ushort)Math.Round(Math.Clamp(fraction, 0, 1) * 65535);
}
