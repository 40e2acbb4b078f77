using System.Device.I2c;
using PavementWatch.Gateway.Buses;
using Binding = Iot.Device.Rtc.Ds3231;

namespace PavementWatch.Gateway.Sensors.Ds3231;

/// <summary>What came of asking the clock chip.</summary>
internal abstract record ClockOutcome
{
    private ClockOutcome()
    {
    }

    /// <summary>The time, UTC, whole seconds.</summary>
    internal sealed record Known(DateTimeOffset Utc) : ClockOutcome;

    /// <summary>No time to be trusted.</summary>
    /// <param name="Detail">What was found, what was expected, and the remedy.</param>
    internal sealed record Unknown(string Detail) : ClockOutcome;
}

/// <summary>Battery-backed clock DS3231: a Pi has none of its own. It keeps UTC. See README.md here.</summary>
internal sealed class Ds3231Clock : IDisposable
{
    /// <summary>Its only address.</summary>
    public const int FactoryAddress = 0x68;

    private const byte StatusRegister = 0x0F;
    private const byte OscillatorStopped = 0x80;

    private readonly TwiceReadI2cDevice _wire;
    private readonly Binding _binding;

    /// <param name="device">Its place on the bus.</param>
    public Ds3231Clock(I2cDevice device)
    {
        _wire = new TwiceReadI2cDevice(device, registers: true);
        _binding = new Binding(_wire);
    }

    /// <summary>Asks the time.</summary>
    public ClockOutcome Read()
    {
        try
        {
            Span<byte> raw = stackalloc byte[7];
            _wire.WriteRead([StatusRegister], raw[..1]);
            if ((raw[0] & OscillatorStopped) != 0)
                return Unknown("it stopped since it was set; replace its battery, the gateway sets it once it knows the time");
            _wire.WriteRead([0x00], raw);
            if (FirstFault(raw) is { } fault)
                return Unknown(fault);
            // The binding takes a clear century bit for the 1900s; Linux, which may have set the clock, for the 2000s.
            var read = _binding.RtcDateTime;
            return new ClockOutcome.Known(new DateTimeOffset(
                2000 + (read.Year % 100), read.Month, read.Day, read.Hour, read.Minute, read.Second, TimeSpan.Zero));
        }
        catch (RefusedFrameException e)
        {
            return Unknown(e.Message);
        }
        catch (ArgumentOutOfRangeException)
        {
            return Unknown("a date that does not exist; the gateway sets it once it knows the time");
        }
        catch (IOException)
        {
            return Unknown("no answer; check that it is plugged in, and that the kernel does not hold it (then it has set the system's clock)");
        }
    }

    /// <summary>Sets the time and clears the mark that it had stopped.</summary>
    /// <param name="utc">From 2000 to 2099.</param>
    /// <exception cref="RefusedFrameException">It did not take the time.</exception>
    /// <exception cref="IOException">Nobody answers.</exception>
    public void Set(DateTimeOffset utc)
    {
        _binding.RtcDateTime = utc.UtcDateTime;
        Span<byte> status = stackalloc byte[1];
        _wire.WriteRead([StatusRegister], status);
        _wire.Write([StatusRegister, (byte)(status[0] & ~OscillatorStopped & 0xFF)]);
    }

    public void Dispose() => _binding.Dispose();

    private static string? FirstFault(ReadOnlySpan<byte> raw)
    {
        if ((raw[2] & 0x40) != 0)
            return "it counts to twelve, expected 24 hours; the gateway sets it once it knows the time";
        ReadOnlySpan<byte> mask = [0x7F, 0x7F, 0x3F, 0x07, 0x3F, 0x1F, 0xFF];
        ReadOnlySpan<byte> most = [59, 59, 23, 7, 31, 12, 99];
        ReadOnlySpan<byte> least = [0, 0, 0, 1, 1, 1, 0];
        for (var i = 0; i < raw.Length; i++)
        {
            var (tens, ones) = ((raw[i] & mask[i]) >> 4, raw[i] & mask[i] & 0x0F);
            var value = (10 * tens) + ones;
            if (ones > 9 || tens > 9 || value < least[i] || value > most[i])
                return $"register 0x{i:X2} is 0x{raw[i]:X2}, expected {least[i]} to {most[i]} in decimal digits; " +
                    "the gateway sets it once it knows the time";
        }

        return null;
    }

    private static ClockOutcome.Unknown Unknown(string detail) => new($"clock, DS3231: {detail}");
}
