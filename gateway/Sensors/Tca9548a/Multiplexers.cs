using System.Device.I2c;
using Iot.Device.Tca954x;
using PavementWatch.Gateway.Buses;

namespace PavementWatch.Gateway.Sensors.Tca9548a;

/// <summary>
/// The TCA9548A multiplexers of the gateway. A sensor behind one is reached by opening its channel first; the channel is
/// read back before every transfer, since the binding remembers what it last opened and the chip forgets it when it
/// loses its power. See README.md here.
/// </summary>
internal sealed class Multiplexers(IBuses buses) : IDisposable
{
    private readonly Dictionary<(int Bus, int Address), Multiplexer> _multiplexers = [];
    private readonly Dictionary<(int Bus, int Address), I2cDevice> _trunk = [];

    /// <summary>A sensor behind a multiplexer.</summary>
    /// <param name="bus">Number of the bus.</param>
    /// <param name="multiplexer">Address of the multiplexer.</param>
    /// <param name="channel">Its channel, 0 to 7.</param>
    /// <param name="address">Address of the sensor.</param>
    /// <exception cref="IOException">The bus is missing.</exception>
    public I2cDevice Device(int bus, int multiplexer, int channel, int address)
    {
        if (!_multiplexers.TryGetValue((bus, multiplexer), out var found))
        {
            found = new Multiplexer(buses.I2c(bus), multiplexer);
            _multiplexers.Add((bus, multiplexer), found);
        }

        // Sensors of one address share one device on the trunk; the binding would share it only within one multiplexer.
        if (!_trunk.TryGetValue((bus, address), out var device))
        {
            device = buses.I2c(bus).CreateDevice(address);
            _trunk.Add((bus, address), device);
        }

        return new Channel(this, bus, found, channel, device);
    }

    public void Dispose()
    {
        foreach (var multiplexer in _multiplexers.Values)
            multiplexer.Binding.Dispose();
        foreach (var device in _trunk.Values)
            device.Dispose();
    }

    private void Open(int bus, Multiplexer wanted, int channel)
    {
        // An open channel of another multiplexer on this bus would answer too.
        foreach (var (place, other) in _multiplexers)
        {
            if (place.Bus == bus && other != wanted && other.Opened() != 0)
                other.Binding.SelectChannel(MultiplexerChannel.None);
        }

        var bit = (byte)(1 << channel);
        if (wanted.Opened() == bit)
            return;
        wanted.Binding.SelectChannel((MultiplexerChannel)bit);
        var found = wanted.Opened();
        if (found == bit)
            return;
        // The binding believes the channel to be open already: say it to the chip.
        wanted.Control.WriteByte(bit);
        found = wanted.Opened();
        if (found != bit)
            throw new RefusedFrameException(RejectReason.CheckByte,
                $"multiplexer 0x{wanted.Address:X2} has 0x{found:X2} open, expected channel {channel} (0x{bit:X2}); " +
                "check its supply and its cable");
    }

    private sealed class Multiplexer(I2cBus bus, int address)
    {
        private TwiceReadI2cDevice? _checked;

        public int Address => address;

        public I2cDevice Control { get; } = bus.CreateDevice(address);

        /// <summary>The channels that are open, a bit each, read twice alike: the wrong one would give a good frame of another sensor.</summary>
        public byte Opened() => (_checked ??= new TwiceReadI2cDevice(Control, registers: false)).ReadByte();

        public Tca9548A Binding => field ??= new Tca9548A(Control, bus);
    }

    private sealed class Channel(Multiplexers all, int bus, Multiplexer multiplexer, int channel, I2cDevice device) : CheckedI2cDevice(device)
    {
        public override void Read(Span<byte> buffer)
        {
            all.Open(bus, multiplexer, channel);
            Wire.Read(buffer);
        }

        public override void Write(ReadOnlySpan<byte> buffer)
        {
            all.Open(bus, multiplexer, channel);
            Wire.Write(buffer);
        }

        public override void WriteRead(ReadOnlySpan<byte> writeBuffer, Span<byte> readBuffer)
        {
            all.Open(bus, multiplexer, channel);
            Wire.WriteRead(writeBuffer, readBuffer);
        }
    }
}
