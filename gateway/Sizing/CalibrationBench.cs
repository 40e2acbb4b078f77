using PavementWatch.Core.Calibration;
using PavementWatch.Gateway.Sensors;

namespace PavementWatch.Gateway.Sizing;

/// <summary>The probes of this gateway laid on the bench, to compare one with a contact thermometer.</summary>
/// <param name="Table">The probes' settings.</param>
/// <param name="Probes">The probes; closed with the bench.</param>
/// <param name="Clock">The time.</param>
internal sealed record CalibrationBench(ProbeTable Table, IProbes Probes, TimeProvider Clock) : IDisposable
{
    /// <summary>The calibration a probe has now, to be taken out of its readings.</summary>
    public ProbeCalibration Present(string probe) => new(Table[probe].CalibrationGain, Table[probe].CalibrationOffsetKelvin);

    /// <summary>Why two probes cannot be compared; <c>null</c> when they can.</summary>
    /// <param name="probe">The infrared sensor.</param>
    /// <param name="thermometer">The contact thermometer.</param>
    public string? Fault(string probe, string thermometer) =>
        Fault("--probe", probe, ProbeKind.Mlx90614) ?? Fault("--thermometer", thermometer, ProbeKind.Ds18b20);

    public void Dispose() => Probes.Dispose();

    private string? Fault(string option, string name, ProbeKind kind)
    {
        if (Table.TryGetValue(name, out var found) && found.Kind == kind)
            return null;
        var fitting = Table.Where(p => p.Value.Kind == kind).Select(p => p.Key).Order(StringComparer.Ordinal).ToList();
        return $"{option} is '{name}', expected "
            + (fitting.Count > 0 ? string.Join(" or ", fitting) : $"a probe of kind {kind} under Probes in the settings, where there is none");
    }
}
