

namespace PavementWatch.Gateway.Simulation;

/// <summary>A TCA9548A as its data sheet describes it: one control byte, a bit a channel; all closed after power-on.</summary>
internal sealed class SimulatedTca9548a : SimulatedChip
{
    private readonly Dictionary<(int Channel, int Address), List<SimulatedChip>> _chips = [];
    private byte _open;

    /// <summary>Plugs a chip into a channel.</summary>
    public void Attach(int channel, int address, SimulatedChip chip)
    {
        if (!_chips.TryGetValue((channel, address), out var chips))
            _chips.Add((channel, address), chips = []);
        chips.Add(chip);
    }

    public override void Write(ReadOnlySpan<byte> bytes) => _open = bytes[^1];

    public override void Read(Span<byte> bytes) => bytes.Fill(_open);

    public override void PowerCycle() => _open = 0;

    public override IEnumerable<SimulatedChip> Behind(int address)
    {
        for (var channel = 0; channel < 8; channel++)
        {
            if ((_open & (1 << channel)) == 0 || !_chips.TryGetValue((channel, address), out var chips))
                continue;
            foreach (var chip in chips)
                yield return chip;
        }
    }
}
