namespace PavementWatch.Gateway.Simulation;

/// <summary>A bad cable: some of the transfers arrive with flipped bits, others are not answered at all.</summary>
/// <param name="fraction">Share of the transfers that are damaged, 0 to 1 inclusive.</param>
/// <param name="random">Which, and how.</param>
internal sealed class NoisyWire(double fraction, Random random)
{
    /// <summary>Most bits flipped in one transfer.</summary>
    private const int MostBits = 3;

    /// <summary>What happens on the wire, as <see cref="SimulatedI2cBus.Fault"/> takes it.</summary>
    public void Damage(int address, bool reading, Span<byte> bytes)
    {
        if (bytes.Length == 0 || random.NextDouble() >= fraction)
            return;
        if (random.Next(2) == 0)
            throw SimulatedChip.NotAcknowledged();
        for (var flips = random.Next(1, MostBits + 1); flips > 0; flips--)
            bytes[random.Next(bytes.Length)] ^= (byte)(1 << random.Next(8));
    }
}
