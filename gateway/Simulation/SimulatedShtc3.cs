using System.Buffers.Binary;

namespace PavementWatch.Gateway.Simulation;

/// <summary>An SHTC3 as its data sheet describes it on the wire: sleep, commands, check bytes.</summary>
/// <param name="measure">[°C, %] Air temperature and relative humidity.</param>
internal sealed class SimulatedShtc3(Func<(double AirCelsius, double HumidityPercent)> measure) : SimulatedChip
{
    private readonly SensirionAnswer _answer = new();
    private bool _awake = true;

    /// <summary>Words sent in place of the measured ones, when set.</summary>
    public (ushort Air, ushort Humidity)? Words { get; set; }

    public override void Write(ReadOnlySpan<byte> bytes)
    {
        if (bytes.Length != 2)
            throw NotAcknowledged();
        var command = BinaryPrimitives.ReadUInt16BigEndian(bytes);
        if (!_awake && command != 0x3517)
            throw NotAcknowledged();
        switch (command)
        {
            case 0x3517:
                _awake = true;
                break;
            case 0xB098:
                _awake = false;
                break;
            case 0x805D:
                _answer.Clear();
                break;
            case 0x7866 or 0x7CA2 or 0x609C or 0x6458:
                _answer.Set(Words ?? Measure());
                break;
            case 0xEFC8:
                _answer.Set((0x0887, 0));
                break;
            default:
                throw NotAcknowledged();
        }
    }

    public override void Read(Span<byte> bytes) => _answer.Read(bytes);

    public override void PowerCycle()
    {
        _awake = true;
        _answer.Clear();
    }

    private (ushort Air, ushort Humidity) Measure()
    {
        var (air, humidity) = measure();
        return (Raw((air + 45) / 175), Raw(humidity / 100));
    }

    private static ushort Raw(double fraction) => (ushort)Math.Clamp(Math.Round(fraction * 65536), 0, 65535);
}
