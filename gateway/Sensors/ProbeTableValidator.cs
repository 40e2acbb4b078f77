using System.ComponentModel.DataAnnotations;
using Microsoft.Extensions.Options;
using PavementWatch.Core.Readings;
using PavementWatch.Core.Surfaces;
using PavementWatch.Gateway.Spots;

namespace PavementWatch.Gateway.Sensors;

/// <summary>Looks at the probes as a whole: kinds, addresses, and that no two want the same place.</summary>
internal sealed class ProbeTableValidator : IValidateOptions<ProbeTable>
{
    public ValidateOptionsResult Validate(string? name, ProbeTable options)
    {
        List<string> faults = [];
        foreach (var (probe, o) in options)
            Check(faults, $"Probes:{probe}", o);

        var i2c = options.Where(p => ProbeKinds.IsI2c(p.Value.Kind)).ToList();
        foreach (var same in i2c.GroupBy(p => (p.Value.Bus, Address(p.Value), p.Value.Multiplexer, p.Value.Channel)).Where(g => g.Count() > 1))
            faults.Add($"Probes: {Names(same)} all have bus {same.Key.Bus}, address 0x{same.Key.Item2:X2}; " +
                "give one another address or its own channel of a multiplexer");
        foreach (var (probe, o) in i2c.Where(p => p.Value.Multiplexer is not null))
        {
            // A probe on the trunk answers whichever channel is open.
            foreach (var (other, _) in i2c.Where(p => p.Value.Multiplexer is null && p.Value.Bus == o.Bus && Address(p.Value) == Address(o)))
                faults.Add($"Probes: {probe} behind a multiplexer and {other} before it share address 0x{Address(o):X2} " +
                    $"on bus {o.Bus}; move {other} behind the multiplexer too");
        }

        foreach (var (probe, o) in i2c)
        {
            if (i2c.FirstOrDefault(p => p.Value.Bus == o.Bus && p.Value.Multiplexer == Address(o)) is { Key: { } behind })
                faults.Add($"Probes: {probe} has address 0x{Address(o):X2}, that of the multiplexer before {behind} " +
                    $"on bus {o.Bus}; give one of them another");
        }

        foreach (var same in options.Where(p => p.Value.Kind == ProbeKind.Mlx90614).GroupBy(p => p.Value.Spot).Where(g => g.Count() > 1))
            faults.Add($"Probes: {Names(same)} all watch spot {same.Key}; give each its own spot");
        return faults.Count == 0 ? ValidateOptionsResult.Success : ValidateOptionsResult.Fail(faults);
    }

    private static void Check(List<string> faults, string where, ProbeOptions o)
    {
        List<ValidationResult> results = [];
        Validator.TryValidateObject(o, new ValidationContext(o), results, validateAllProperties: true);
        faults.AddRange(results.Select(r => $"{where}: {r.ErrorMessage}"));
        if (o.Kind == ProbeKind.None || !Enum.IsDefined(o.Kind))
            faults.Add($"{where}:Kind is not set, expected one of {string.Join(", ", Enum.GetNames<ProbeKind>().Skip(1))}");
        if (o.Multiplexer is null != o.Channel is null)
            faults.Add($"{where}: Multiplexer and Channel belong together; set both or neither");
        if (o.Multiplexer is not null && !ProbeKinds.IsI2c(o.Kind))
            faults.Add($"{where}: a {ProbeKinds.Name(o.Kind)} does not hang on I2C; leave out Multiplexer and Channel");
        if (o.Kind != ProbeKind.Mlx90614 && (o.CalibrationGain != 1 || o.CalibrationOffsetKelvin != 0))
            faults.Add($"{where}: CalibrationGain and CalibrationOffsetKelvin are for an {ProbeKinds.Name(ProbeKind.Mlx90614)}, not for a {ProbeKinds.Name(o.Kind)}; leave them out");
        if (o.BandMicrometers is not null && o.Kind != ProbeKind.Mlx90614)
            faults.Add($"{where}: BandMicrometers is for an {ProbeKinds.Name(ProbeKind.Mlx90614)}, not for a {ProbeKinds.Name(o.Kind)}; leave it out");
        else if (o.BandMicrometers is not null && !InfraredBands.TryParse(o.BandMicrometers, out _))
            faults.Add($"{where}:BandMicrometers is '{o.BandMicrometers}', expected {string.Join(" or ", InfraredBands.Names)}");
        if (o.Spot is not null && !SpotId.TryParse(o.Spot, out _))
            faults.Add($"{where}:Spot is '{o.Spot}', expected a name of 1 to {SpotId.MaxLength} of a-z, 0-9 and '-'");
    }

    private static int? Address(ProbeOptions o) => o.Address ?? ProbeKinds.FactoryAddress(o.Kind);

    private static string Names(IEnumerable<KeyValuePair<string, ProbeOptions>> probes) =>
        string.Join(" and ", probes.Select(p => p.Key).Order(StringComparer.Ordinal));
}

/// <summary>Looks whether each probe's spot is there. Not asked by who only wants to hear the probes.</summary>
internal sealed class ProbeSpotsValidator(IOptions<SpotTable> spots) : IValidateOptions<ProbeTable>
{
    public ValidateOptionsResult Validate(string? name, ProbeTable options)
    {
        List<string> faults = [];
        foreach (var (probe, o) in options)
        {
            if (ProbeKinds.IsSurface(o.Kind) && o.Spot is null)
                faults.Add($"Probes:{probe}:Spot is not set; a surface probe watches one of {Spots()}");
            if (o.Spot is not null && SpotId.TryParse(o.Spot, out _) && !spots.Value.ContainsKey(o.Spot))
                faults.Add($"Probes:{probe}:Spot is '{o.Spot}', expected one of {Spots()}");
        }

        return faults.Count == 0 ? ValidateOptionsResult.Success : ValidateOptionsResult.Fail(faults);
    }

    private string Spots() => spots.Value.Count == 0
        ? "the names under Spots, where there is none yet"
        : string.Join(", ", spots.Value.Keys.Order(StringComparer.Ordinal));
}
