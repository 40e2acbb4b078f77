using System.Device.I2c;
using System.Globalization;
using PavementWatch.Core.Calibration;
using PavementWatch.Core.Quantities;
using PavementWatch.Core.Readings;
using PavementWatch.Gateway.Buses;
using PavementWatch.Gateway.Sensors.Ds18b20;
using PavementWatch.Gateway.Sensors.Tca9548a;

namespace PavementWatch.Gateway.Sensors;

/// <summary>
/// One probe of the settings, over its whole life: opened when first asked, opened anew after it was away or lost its
/// settings. Says once in the log that it failed and once that it is back.
/// </summary>
internal sealed class Probe(
    string name, ProbeOptions options, IBuses buses, Multiplexers multiplexers, SensorMetrics metrics, ILogger logger) : IDisposable
{
    // A sensor that keeps failing may have been swapped or have lost its settings: look at it afresh.
    private const int FailuresBeforeReopening = 3;

    private readonly SpotId? _spot = options.Spot is null ? null : SpotId.Parse(options.Spot);
    private readonly ProbeCalibration _calibration = new(options.CalibrationGain, options.CalibrationOffsetKelvin);
    private I2cDevice? _device;
    private ISensor? _sensor;
    private int _failures;

    private int Address => options.Address ?? ProbeKinds.FactoryAddress(options.Kind) ?? 0;

    /// <summary>Asks it once.</summary>
    public ProbeSample Sample(DateTimeOffset now)
    {
        var outcome = Read();
        switch (outcome)
        {
            case ReadOutcome.Measured:
                if (_failures > 0)
                    Log.ProbeIsBack(logger, name, _failures);
                _failures = 0;
                break;
            case ReadOutcome.Rejected rejected:
                outcome = rejected = rejected with { Detail = $"probe {name}, {ProbeKinds.Name(options.Kind)}: {rejected.Detail}" };
                metrics.Rejected(options.Kind, rejected.Reason);
                if (_failures++ == 0)
                    Log.ProbeFailed(logger, rejected.Detail);
                if (rejected.Reason is RejectReason.NoAnswer or RejectReason.NotReady or RejectReason.WrongDevice
                    || _failures % FailuresBeforeReopening == 0)
                    Close();
                break;
        }

        return new ProbeSample(name, options.Kind, _spot, now, outcome) { Band = options.Band() };
    }

    public void Dispose()
    {
        Close();
        _device?.Dispose();
    }

    private ReadOutcome Read()
    {
        try
        {
            _sensor ??= Open();
            return InRange(Calibrated(_sensor.Read()));
        }
        catch (RefusedFrameException e)
        {
            return new ReadOutcome.Rejected(e.Reason, e.Message);
        }
        catch (Exception e) when (e is IOException or UnauthorizedAccessException or PlatformNotSupportedException)
        {
            return new ReadOutcome.Rejected(RejectReason.NoAnswer, NoAnswer(e));
        }
    }

    private ReadOutcome Calibrated(ReadOutcome outcome) =>
        outcome is ReadOutcome.Measured { Values: { ApparentCelsius: { } apparent } values }
            ? new ReadOutcome.Measured(values with { ApparentCelsius = _calibration.Apply(apparent) })
            : outcome;

    /// <summary>A probe that says what air never is, as in a housing in the sun, is at fault: what is not said is better than what would cost the ground its reading.</summary>
    private static ReadOutcome InRange(ReadOutcome outcome)
    {
        if (outcome is not ReadOutcome.Measured { Values: var values })
            return outcome;
        return Fault("air", values.AirCelsius, QuantityRanges.Air, "look whether its housing stands in the sun or is closed")
            ?? Fault("humidity", values.HumidityPercent, QuantityRanges.Humidity, "look whether it is wet")
            ?? outcome;
    }

    private static ReadOutcome.Rejected? Fault(string what, double? value, QuantityRange range, string remedy) => range.HoldsOrNull(value)
        ? null
        : new(RejectReason.OutOfRange, string.Create(CultureInfo.InvariantCulture, $"{what} is {value:F2} {range.Unit}, expected {range}; {remedy}, else replace it"));

    private ISensor Open()
    {
        if (options.Kind == ProbeKind.Ds18b20)
            return new Ds18b20Sensor(buses, options.Device);
        _device ??= options is { Multiplexer: { } multiplexer, Channel: { } channel }
            ? multiplexers.Device(options.Bus, multiplexer, channel, Address)
            : buses.I2c(options.Bus).CreateDevice(Address);
        return ProbeKinds.Open(options.Kind, _device, buses);
    }

    private string NoAnswer(Exception e) => e switch
    {
        DirectoryNotFoundException or FileNotFoundException or UnauthorizedAccessException when options.Kind == ProbeKind.Ds18b20 =>
            $"1-wire device {options.Device ?? "28-…"} is not there; check that it is plugged in and 1-wire is enabled on the Pi",
        UnauthorizedAccessException =>
            $"no permission for bus {options.Bus}; add the service's user to the group i2c",
        _ when _device is null =>
            $"bus {options.Bus} cannot be opened ({e.Message.TrimEnd('.')}); enable I2C on the Pi and restart it",
        _ when options is { Multiplexer: { } multiplexer, Channel: { } channel } =>
            $"no answer at bus {options.Bus}, multiplexer 0x{multiplexer:X2}, channel {channel}, address 0x{Address:X2}; " +
            "check that multiplexer and sensor are plugged in and powered",
        _ => $"no answer at bus {options.Bus}, address 0x{Address:X2}; check that it is plugged in, powered, and set to that address",
    };

    private void Close()
    {
        _sensor?.Dispose();
        _sensor = null;
    }
}
