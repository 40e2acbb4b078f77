using System.Buffers.Binary;

namespace PavementWatch.Gateway.Simulation;

/// <summary>A BME280 as its data sheet describes it on the wire: registers, trimming values, settings, raw results.</summary>
/// <param name="measure">[°C, %] Air temperature and relative humidity; pressure stays where it is.</param>
internal sealed class SimulatedBme280(Func<(double AirCelsius, double HumidityPercent)> measure) : SimulatedChip
{
    private const int PressureRaw = 415148;
    private const int ResetRaw = 0x80000;

    // The trimming values of the worked example: dig_T1..3, dig_P1..9, dig_H1..6.
    private static readonly int[] T = [27504, 26435, -1000];
    private static readonly int[] P = [36477, -10685, 3024, 2855, 140, -7, 15500, -14600, 6000];
    private static readonly int[] H = [75, 362, 0, 333, 0, 30];

    private readonly byte[] _registers = PowerOn();
    private byte _pointer;

    /// <summary>Raw temperature, pressure and humidity in place of measured ones, when set.</summary>
    public (int Temperature, int Pressure, int Humidity)? Raw { get; set; }

    /// <summary>What it says it is.</summary>
    public byte Id { get; set; } = 0x60;

    public override void Write(ReadOnlySpan<byte> bytes)
    {
        _pointer = bytes[0];
        // Pairs of register and value; a lone first byte only sets the pointer.
        for (var i = 0; i + 1 < bytes.Length; i += 2)
        {
            switch (bytes[i])
            {
                case 0xE0 when bytes[i + 1] == 0xB6:
                    PowerCycle();
                    break;
                case 0xF2 or 0xF4 or 0xF5:
                    _registers[bytes[i]] = bytes[i + 1];
                    break;
            }
        }
    }

    public override void Read(Span<byte> bytes)
    {
        _registers[0xD0] = Id;
        if ((_registers[0xF4] & 3) == 3)
            Measure();
        for (var i = 0; i < bytes.Length; i++)
        {
            bytes[i] = _registers[_pointer];
            _pointer = (byte)((_pointer + 1) & 0xFF);
        }
    }

    public override void PowerCycle()
    {
        PowerOn().CopyTo(_registers.AsSpan());
        _pointer = 0;
    }

    private void Measure()
    {
        var (temperature, pressure, humidity) = Raw ?? FromWorld();
        PutTwenty(0xF7, (_registers[0xF4] & 0x1C) != 0 ? pressure : ResetRaw);
        PutTwenty(0xFA, (_registers[0xF4] & 0xE0) != 0 ? temperature : ResetRaw);
        BinaryPrimitives.WriteUInt16BigEndian(
            _registers.AsSpan(0xFD), (ushort)((_registers[0xF2] & 7) != 0 ? humidity : 0x8000));
    }

    private (int Temperature, int Pressure, int Humidity) FromWorld()
    {
        var (air, percent) = measure();
        var fine = air * 5120;
        var temperature = Search(0, 0xFFFFF, raw => Fine(raw) >= fine);
        var humidity = Search(0, 0xFFFF, raw => Percent(raw, fine) >= percent);
        return (temperature, PressureRaw, humidity);
    }

    /// <summary>Data sheet, floating point: t_fine of a raw temperature.</summary>
    private static double Fine(int raw)
    {
        var a = ((raw / 16384.0) - (T[0] / 1024.0)) * T[1];
        var b = (raw / 131072.0) - (T[0] / 8192.0);
        return a + (b * b * T[2]);
    }

    /// <summary>Data sheet, floating point: humidity of a raw word.</summary>
    private static double Percent(int raw, double fine)
    {
        var h = fine - 76800;
        h = (raw - ((H[3] * 64.0) + (H[4] / 16384.0 * h)))
            * (H[1] / 65536.0 * (1 + (H[5] / 67108864.0 * h * (1 + (H[2] / 67108864.0 * h)))));
        return h * (1 - (H[0] * h / 524288.0));
    }

    private static int Search(int low, int high, Func<int, bool> reached)
    {
        while (low < high)
        {
            var middle = (low + high) / 2;
            if (reached(middle))
                high = middle;
            else
                low = middle + 1;
        }

        return low;
    }

    private void PutTwenty(int register, int raw)
    {
        _registers[register] = (byte)(raw >> 12);
        _registers[register + 1] = (byte)((raw >> 4) & 0xFF);
        _registers[register + 2] = (byte)((raw << 4) & 0xF0);
    }

    private static byte[] PowerOn()
    {
        var registers = new byte[256];
        void Word(int register, int value) =>
            BinaryPrimitives.WriteInt16LittleEndian(registers.AsSpan(register), unchecked((short)value));
        for (var i = 0; i < T.Length; i++)
            Word(0x88 + (2 * i), T[i]);
        for (var i = 0; i < P.Length; i++)
            Word(0x8E + (2 * i), P[i]);
        registers[0xA1] = (byte)H[0];
        Word(0xE1, H[1]);
        registers[0xE3] = (byte)H[2];
        registers[0xE4] = (byte)(H[3] >> 4);
        registers[0xE5] = (byte)((H[3] & 0x0F) | ((H[4] & 0x0F) << 4));
        registers[0xE6] = (byte)(H[4] >> 4);
        registers[0xE7] = (byte)H[5];
        registers[0xF7] = registers[0xFA] = registers[0xFD] = 0x80;
        return registers;
    }
}
