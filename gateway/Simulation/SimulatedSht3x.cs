using System.Buffers.Binary;

namespace PavementWatch.Gateway.Simulation;

/// <summary>An SHT3x as its data sheet describes it on the wire: commands, status word, check bytes.</summary>
/// <param name="measure">[°C, %] Air temperature and relative humidity.</param>
internal sealed class SimulatedSht3x(Func<(double AirCelsius, double HumidityPercent)> measure) : SimulatedChip
{
    private readonly SensirionAnswer _answer = new();
    private bool _heater;
    private bool _wasReset = true;

    /// <summary>Words sent in place of the measured ones, when set.</summary>
    public (ushort Air, ushort Humidity)? Words { get; set; }

    public override void Write(ReadOnlySpan<byte> bytes)
    {
        if (bytes.Length != 2)
            throw NotAcknowledged();
        switch (BinaryPrimitives.ReadUInt16BigEndian(bytes))
        {
            case 0x2400 or 0x240B or 0x2416:
                _answer.Set(Words ?? Measure());
                break;
            case 0x30A2:
                PowerCycle();
                break;
            case 0x306D:
                _heater = true;
                break;
            case 0x3066:
                _heater = false;
                break;
            case 0x3041:
                _wasReset = false;
                break;
            case 0xF32D:
                _answer.Set((ushort)((_heater ? 1 << 13 : 0) | (_wasReset ? 1 << 4 : 0)));
                break;
            default:
                throw NotAcknowledged();
        }
    }

    public override void Read(Span<byte> bytes) => _answer.Read(bytes);

    public override void PowerCycle()
    {
        _answer.Clear();
        _heater = false;
        _wasReset = true;
    }

    private (ushort Air, ushort Humidity) Measure()
    {
        var (air, humidity) = measure();
        return (Raw((air + (_heater ? 3 : 0) + 45) / 175), Raw(humidity / 100));
    }

    private static ushort Raw(double fraction) => (ushort)Math.Round(Math.Clamp(fraction, 0, 1) * 65535);
}
