namespace PavementWatch.Gateway.Simulation;

/// <summary>A chip on the simulated bus, as its data sheet describes what goes over the wire.</summary>
internal abstract class SimulatedChip
{
    /// <summary>A write transfer, ended by a stop.</summary>
    /// <param name="bytes">The bytes after the address.</param>
    public abstract void Write(ReadOnlySpan<byte> bytes);

    /// <summary>A read transfer.</summary>
    /// <param name="bytes">Filled with what the chip sends.</param>
    public abstract void Read(Span<byte> bytes);

    /// <summary>A write and, after a repeated start, a read.</summary>
    public virtual void WriteRead(ReadOnlySpan<byte> written, Span<byte> read)
    {
        Write(written);
        Read(read);
    }

    /// <summary>Power away and back: settings are what they are after switching on.</summary>
    public virtual void PowerCycle()
    {
    }

    /// <summary>Chips reachable through this one, for a multiplexer.</summary>
    /// <param name="address">The address called.</param>
    public virtual IEnumerable<SimulatedChip> Behind(int address) => [];

    /// <summary>What the Linux driver throws when nobody acknowledges (EREMOTEIO).</summary>
    public static IOException NotAcknowledged() => new("Error 121 performing I2C data transfer.");
}
