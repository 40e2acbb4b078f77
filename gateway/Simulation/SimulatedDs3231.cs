
namespace PavementWatch.Gateway.Simulation;

/// <summary>A DS3231 as its data sheet describes it on the wire, running on a clock of the test's.</summary>
/// <param name="clock">Drives it.</param>
internal sealed class SimulatedDs3231(TimeProvider clock) : SimulatedChip
{
    private readonly byte[] _registers = new byte[0x13];
    private DateTimeOffset _set = new(2000, 1, 1, 0, 0, 0, TimeSpan.Zero);
    private long _setAt = clock.GetTimestamp();
    private byte _pointer;
    private bool _stopped = true;

    /// <summary>Whether the century bit is set, as the binding does and Linux does not.</summary>
    public bool CenturyBit { get; set; }

    /// <summary>The seven time registers in place of the running ones, when set.</summary>
    public byte[]? Time { get; set; }

    public override void Write(ReadOnlySpan<byte> bytes)
    {
        _pointer = (byte)(bytes[0] % _registers.Length);
        foreach (var value in bytes[1..])
        {
            if (_pointer == 0x0F)
                _stopped &= (value & 0x80) != 0;
            _registers[_pointer] = value;
            Next();
        }

        if (bytes.Length == 8 && bytes[0] == 0)
        {
            var r = _registers;
            CenturyBit = (r[5] & 0x80) != 0;
            _set = new DateTimeOffset(
                2000 + Decimal(r[6]), Decimal((byte)(r[5] & 0x1F)), Decimal(r[4]),
                Decimal(r[2]), Decimal(r[1]), Decimal(r[0]), TimeSpan.Zero);
            _setAt = clock.GetTimestamp();
        }
    }

    public override void Read(Span<byte> bytes)
    {
        Run();
        for (var i = 0; i < bytes.Length; i++)
        {
            bytes[i] = _registers[_pointer];
            Next();
        }
    }

    /// <summary>Its battery is empty too.</summary>
    public override void PowerCycle()
    {
        _stopped = true;
        _set = new(2000, 1, 1, 0, 0, 0, TimeSpan.Zero);
        _setAt = clock.GetTimestamp();
    }

    private void Run()
    {
        var now = _set + clock.GetElapsedTime(_setAt);
        byte[] time = Time ??
        [
            Digits(now.Second), Digits(now.Minute), Digits(now.Hour), Digits((int)now.DayOfWeek + 1), Digits(now.Day),
            (byte)(Digits(now.Month) | (CenturyBit ? 0x80 : 0)), Digits(now.Year % 100),
        ];
        time.CopyTo(_registers.AsSpan());
        _registers[0x0F] = (byte)((_registers[0x0F] & 0x7F) | (_stopped ? 0x80 : 0));
    }

    private void Next() => _pointer = (byte)((_pointer + 1) % _registers.Length);

    private static byte Digits(int value) => (byte)((value / 10 << 4) | (value % 10));

    private static int Decimal(byte digits) => (10 * (digits >> 4)) + (digits & 0x0F);
}
