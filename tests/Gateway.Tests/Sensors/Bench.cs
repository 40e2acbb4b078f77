using Microsoft.Extensions.Logging;
using Microsoft.Extensions.Logging.Abstractions;
using Microsoft.Extensions.Options;
using PavementWatch.Gateway.Buses;
using PavementWatch.Gateway.Sensors;
using PavementWatch.Gateway.Simulation;

namespace PavementWatch.Gateway.Tests.Sensors;

/// <summary>One probe on a simulated bus, as the gateway would drive it.</summary>
internal sealed class Bench : IDisposable
{
    private static readonly DateTimeOffset Noon = new(2025, 7, 14, 18, 0, 0, TimeSpan.Zero);
    private static readonly byte[] AllFlips = [.. Enumerable.Range(1, 255).Select(i => (byte)i)];
    private static readonly byte[] FewFlips = [1, 2, 4, 8, 16, 32, 64, 128, 255];
    private readonly SensorMetrics _metrics = new();
    private readonly ProbeSet _probes;

    public Bench(ProbeKind kind, int address, SimulatedChip chip, ILogger<ProbeSet>? logger = null)
        : this(new ProbeOptions { Kind = kind, Address = address, Spot = "plaza" }, logger)
    {
        Address = address;
        Bus.Attach(address, chip);
    }

    public Bench(ProbeOptions options, ILogger<ProbeSet>? logger = null)
    {
        Address = options.Address ?? 0;
        _probes = new ProbeSet(
            Options.Create(new ProbeTable { ["2"] = options }), Buses, _metrics, logger ?? NullLogger<ProbeSet>.Instance);
    }

    public int Address { get; }

    public SimulatedBuses Buses { get; } = new();

    public SimulatedI2cBus Bus => Buses.Simulated(1);

    /// <summary>Done before each damaged sample, when set.</summary>
    public Action? BeforeDamaged { get; set; }

    public ReadOutcome Read() => Assert.Single(_probes.SampleAll(Noon)).Outcome;

    public ProbeValues Measured() => Assert.IsType<ReadOutcome.Measured>(Read()).Values;

    /// <summary>What the sensor itself makes of its bytes, also where no air is like that.</summary>
    public ProbeValues Decoded(ProbeKind kind)
    {
        using var device = Bus.CreateDevice(Address);
        using var sensor = ProbeKinds.Open(kind, device, Buses);
        return Assert.IsType<ReadOutcome.Measured>(sensor.Read()).Values;
    }

    public ReadOutcome.Rejected Rejected() => Assert.IsType<ReadOutcome.Rejected>(Read());

    public void Rejected(RejectReason reason, string detail)
    {
        var rejected = Rejected();
        Assert.Equal(detail, rejected.Detail);
        Assert.Equal(reason, rejected.Reason);
    }

    /// <summary>Damages one byte of one transfer of a sample, counted over its transfers; gives what came of it.</summary>
    /// <param name="transfer">Which transfer from the Pi's or the chip's side, from 0.</param>
    /// <param name="index">Which byte of it.</param>
    /// <param name="flip">Bits to flip, not 0.</param>
    /// <returns>The outcome; <c>null</c> when the sample has no such byte.</returns>
    public (ReadOutcome Outcome, bool Reading)? ReadDamaged(int transfer, int index, byte flip)
    {
        BeforeDamaged?.Invoke();
        var seen = 0;
        bool? hit = null;
        Bus.Fault = (_, reading, bytes) =>
        {
            if (seen++ == transfer && index < bytes.Length)
            {
                bytes[index] ^= flip;
                hit = reading;
            }
        };
        var outcome = Read();
        Bus.Fault = null;
        return hit is { } r ? (outcome, r) : null;
    }

    /// <summary>
    /// Damages every byte of every transfer of a sample, one at a time: what the chip sends in all 255 ways, what the Pi
    /// sends bit by bit and as a whole. Each time the sample is refused or gives what it gives undamaged, and it works
    /// again right after.
    /// </summary>
    /// <returns>How many damages were tried, and how many of them were refused.</returns>
    public (int Tried, int Refused) DamageEverything()
    {
        var whole = Measured();
        var (tried, refused) = (0, 0);
        for (var transfer = 0; ; transfer++)
        {
            var index = 0;
            while (ReadDamaged(transfer, index, 0xFF) is { } first)
            {
                Recover(whole);
                foreach (var flip in first.Reading ? AllFlips : FewFlips)
                {
                    var outcome = ReadDamaged(transfer, index, flip)!.Value.Outcome;
                    tried++;
                    if (outcome is ReadOutcome.Measured { Values: var values })
                        Assert.True(whole == values, $"transfer {transfer}, byte {index}, bits 0x{flip:X2}: {values}, expected {whole}");
                    else
                        refused++;
                    Recover(whole);
                }

                index++;
            }

            if (index == 0)
                return (tried, refused);
        }
    }

    /// <summary>Takes the sensor away for three samples and puts it back: named while away, whole again after.</summary>
    public void UnplugAndReplug(string detail)
    {
        var whole = Measured();
        var chips = Bus.Detach(Address);
        for (var i = 0; i < 3; i++)
            Rejected(RejectReason.NoAnswer, detail);
        foreach (var chip in chips)
            Bus.Attach(Address, chip);
        Assert.Equal(whole, Measured());
    }

    public void Dispose()
    {
        _probes.Dispose();
        _metrics.Dispose();
        Buses.Dispose();
    }

    private void Recover(ProbeValues whole)
    {
        for (var again = 0; again < 3; again++)
        {
            if (Read() is ReadOutcome.Measured { Values: var values })
            {
                Assert.Equal(whole, values);
                return;
            }
        }

        Assert.Fail("still refused three samples after the damage");
    }
}
