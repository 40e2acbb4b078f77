using System.Globalization;
using Microsoft.Extensions.Options;
using PavementWatch.Gateway.Buses;
using PavementWatch.Gateway.Sensors;

namespace PavementWatch.Gateway.Checks;

/// <summary>Asks every probe of the settings, and where one does not answer, looks who else is on its bus.</summary>
internal sealed class ProbeCheck(IProbes probes, IOptions<ProbeTable> table, IBuses buses, TimeProvider time) : ICheck
{
    public Task<IReadOnlyList<Finding>> RunAsync(CancellationToken cancellationToken)
    {
        var samples = probes.SampleAll(time.GetUtcNow());
        if (samples.Count == 0)
            return Task.FromResult<IReadOnlyList<Finding>>([new Finding(Verdict.Failed, "probes", "the settings name none", "add them under Probes; hardware/settings has samples")]);
        return Task.FromResult<IReadOnlyList<Finding>>([.. samples.Select(Of)]);
    }

    /// <summary>A probe's values as people read them.</summary>
    public static string Text(ProbeValues values)
    {
        (double? Value, string Form)[] parts =
        [
            (values.ApparentCelsius, "surface {0:F2} °C (as if black)"), (values.SensorCelsius, "sensor body {0:F2} °C"),
            (values.ContactCelsius, "contact {0:F2} °C"), (values.AirCelsius, "air {0:F2} °C"), (values.HumidityPercent, "humidity {0:F1} %"),
            (values.PressurePascals / 100, "pressure {0:F1} hPa"), (values.LightLux, "light {0:F0} lx"), (values.SupplyVolts, "supply {0:F2} V"),
        ];
        return string.Join(", ", parts.Where(part => part.Value is not null).Select(part => string.Format(CultureInfo.InvariantCulture, part.Form, part.Value)));
    }

    private Finding Of(ProbeSample sample)
    {
        var options = table.Value[sample.Probe];
        var what = $"probe {sample.Probe} ({sample.Kind}{Place(options)})";
        return sample.Outcome switch
        {
            ReadOutcome.Measured(var values) => new Finding(Verdict.Good, what, Text(values)),
            ReadOutcome.Rejected(RejectReason.NotReady, var detail) => new Finding(Verdict.Doubtful, what, detail, "run the check again in a few seconds"),
            ReadOutcome.Rejected(RejectReason.NoAnswer, var detail) when Address(options) is not null =>
                new Finding(Verdict.Failed, what, detail, $"look at its four wires and its address{Others(options)}"),
            ReadOutcome.Rejected(var reason, var detail) => new Finding(Verdict.Failed, what, $"{reason}: {detail}", Remedy(reason)),
            _ => new Finding(Verdict.Failed, what, "no outcome"),
        };
    }

    private static string Remedy(RejectReason reason) => reason switch
    {
        RejectReason.CheckByte => "shorten the cable, keep it away from mains, fit 4.7 kΩ pull-ups",
        RejectReason.WrongDevice => "set the probe's Kind or Address to what is really there",
        RejectReason.ErrorFlag or RejectReason.OutOfRange => "replace the sensor if it says so again in a dry, moderate place",
        _ => "look at its wires; on 1-wire, enable the bus with dtoverlay=w1-gpio",
    };

    private static int? Address(ProbeOptions options) => options.Address ?? ProbeKinds.FactoryAddress(options.Kind);

    private static string Place(ProbeOptions options) =>
        Address(options) is { } address ? $", bus {options.Bus}, address 0x{address:X2}{(options.Multiplexer is { } m ? $", multiplexer 0x{m:X2} channel {options.Channel}" : "")}" : "";

    private string Others(ProbeOptions options)
    {
        var used = table.Value.Values.Where(other => other.Bus == options.Bus).Select(Address).ToHashSet();
        List<string> answering = [];
        for (var address = 0x08; address <= 0x77; address++)
        {
            if (!used.Contains(address) && Answers(options.Bus, address))
                answering.Add($"0x{address:X2}");
        }
        return answering.Count == 0 ? "; nobody else answers on that bus" : $"; on that bus {string.Join(", ", answering)} answers, which no probe has";
    }

    private bool Answers(int bus, int address)
    {
        try
        {
            using var device = buses.I2c(bus).CreateDevice(address);
            device.ReadByte();
            return true;
        }
        catch (Exception error) when (error is IOException or InvalidOperationException or PlatformNotSupportedException or ArgumentException)
        {
            return false;
        }
    }
}
