using System.ComponentModel.DataAnnotations;
using System.Device.I2c;
using Microsoft.Extensions.Options;
using PavementWatch.Gateway.Buses;
using PavementWatch.Gateway.Clock;

namespace PavementWatch.Gateway.Sensors.Ds3231;

/// <summary>Whether there is a clock with a battery. Section <c>ClockChip</c>.</summary>
internal sealed class ClockChipOptions
{
    /// <summary>Whether a DS3231 is fitted; not unless set.</summary>
    public bool Ds3231 { get; init; }

    /// <summary>Number of its I2C bus, 0 to 32 inclusive; 1, the Pi's header, unless set.</summary>
    [Range(0, 32)]
    public int Bus { get; init; } = 1;
}

[OptionsValidator]
internal sealed partial class ClockChipOptionsValidator : IValidateOptions<ClockChipOptions>;

/// <summary>The DS3231 of the settings as the gateway's clock sees it; says in the log why it gives no time.</summary>
internal sealed class ClockChip(IOptions<ClockChipOptions> options, IBuses buses, ILogger<ClockChip> logger) : IClockChip, IDisposable
{
    private I2cDevice? _device;
    private Ds3231Clock? _clock;

    public bool IsFitted => options.Value.Ds3231;

    public DateTimeOffset? Read()
    {
        if (!IsFitted)
            return null;
        switch (Ask(clock => clock.Read()))
        {
            case ClockOutcome.Known known:
                return known.Utc;
            case ClockOutcome.Unknown unknown:
                Log.ProbeFailed(logger, unknown.Detail);
                return null;
            default:
                return null;
        }
    }

    public void Set(DateTimeOffset now)
    {
        if (!IsFitted)
            return;
        var outcome = Ask(clock =>
        {
            clock.Set(now);
            return new ClockOutcome.Known(now);
        });
        if (outcome is ClockOutcome.Unknown unknown)
            Log.ProbeFailed(logger, unknown.Detail);
    }

    public void Dispose()
    {
        _clock?.Dispose();
        _device?.Dispose();
    }

    private ClockOutcome Ask(Func<Ds3231Clock, ClockOutcome> question)
    {
        try
        {
            _device ??= buses.I2c(options.Value.Bus).CreateDevice(Ds3231Clock.FactoryAddress);
            _clock ??= new Ds3231Clock(_device);
            return question(_clock);
        }
        catch (Exception e) when (e is IOException or RefusedFrameException or UnauthorizedAccessException or PlatformNotSupportedException)
        {
            return new ClockOutcome.Unknown($"clock, DS3231: {e.Message.TrimEnd('.')}; check that it is plugged in at bus {options.Value.Bus}");
        }
    }
}
