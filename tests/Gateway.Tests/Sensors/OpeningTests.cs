using PavementWatch.Gateway.Sensors;
using PavementWatch.Gateway.Simulation;

namespace PavementWatch.Gateway.Tests.Sensors;

/// <summary>Damage while a sensor is being opened: its identity, trimming values and settings.</summary>
public sealed class OpeningTests
{
    private static readonly byte[] Flips = [0x01, 0x10, 0x80, 0xFF];

    [Theory]
    [InlineData("Mlx90614", 0x5A)]
    [InlineData("Sht3x", 0x44)]
    [InlineData("Sht4x", 0x44)]
    [InlineData("Shtc3", 0x70)]
    [InlineData("Bme280", 0x76)]
    [InlineData("Bh1750", 0x23)]
    [InlineData("Ina219", 0x40)]
    public void Every_damaged_byte_is_refused_or_changes_nothing_and_the_sensor_opens_in_the_end(string kind, int address)
    {
        ProbeValues whole;
        using (var bench = Bench(kind, address))
            whole = bench.Measured();
        var tried = 0;
        for (var transfer = 0; ; transfer++)
        {
            var index = 0;
            for (var hit = true; hit; index++)
            {
                hit = false;
                foreach (var flip in Flips)
                {
                    using var bench = Bench(kind, address);
                    if (bench.ReadDamaged(transfer, index, flip) is not { Outcome: var outcome })
                        break;
                    hit = true;
                    tried++;
                    var where = $"transfer {transfer}, byte {index}, bits 0x{flip:X2}";
                    if (outcome is ReadOutcome.Measured { Values: var values })
                        Assert.True(whole == values, $"{where}: {values}, expected {whole}");
                    var outcomes = Enumerable.Range(0, 4).Select(_ => bench.Read()).ToList();
                    Assert.All(outcomes.OfType<ReadOutcome.Measured>(), m => Assert.True(whole == m.Values, $"after {where}: {m.Values}, expected {whole}"));
                    Assert.IsType<ReadOutcome.Measured>(outcomes[^1]);
                }
            }

            if (index == 1)
                break;
        }

        Assert.True(tried >= 20, $"{tried} damages tried");
    }

    private static Bench Bench(string kind, int address) => new(Enum.Parse<ProbeKind>(kind), address, kind switch
    {
        "Mlx90614" => new SimulatedMlx90614(address, () => (58, 31)),
        "Sht3x" => new SimulatedSht3x(() => (33, 44)),
        "Sht4x" => new SimulatedSht4x(() => (33, 44)),
        "Shtc3" => new SimulatedShtc3(() => (33, 44)),
        "Bme280" => new SimulatedBme280(() => (33, 44)),
        "Bh1750" => new SimulatedBh1750(() => 43_210),
        _ => (SimulatedChip)new SimulatedIna219(() => 12.48),
    });
}
