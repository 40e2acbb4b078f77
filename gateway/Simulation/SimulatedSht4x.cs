
namespace PavementWatch.Gateway.Simulation;

/// <summary>An SHT4x as its data sheet describes it on the wire.</summary>
/// <param name="measure">[°C, %] Air temperature and relative humidity.</param>
internal sealed class SimulatedSht4x(Func<(double AirCelsius, double HumidityPercent)> measure) : SimulatedChip
{
    private readonly SensirionAnswer _answer = new();

    /// <summary>Words sent in place of the measured ones, when set.</summary>
    public (ushort Air, ushort Humidity)? Words { get; set; }

    public override void Write(ReadOnlySpan<byte> bytes)
    {
        if (bytes.Length != 1)
            throw NotAcknowledged();
        switch (bytes[0])
        {
            case 0xFD or 0xF6 or 0xE0:
                _answer.Set(Words ?? Measure());
                break;
            case 0x89:
                _answer.Set((0x1234, 0xABCD));
                break;
            case 0x94:
                PowerCycle();
                break;
            default:
                throw NotAcknowledged();
        }
    }

    public override void Read(Span<byte> bytes) => _answer.Read(bytes);

    public override void PowerCycle() => _answer.Clear();

    private (ushort Air, ushort Humidity) Measure()
    {
        var (air, humidity) = measure();
        return (Raw((air + 45) / 175), Raw((humidity + 6) / 125));
    }

    private static ushort Raw(double fraction) => (ushort)Math.Round(Math.Clamp(fraction, 0, 1) * 65535);
}
