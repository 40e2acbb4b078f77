using System.Device.I2c;

namespace PavementWatch.Gateway.Simulation;

/// <summary>What happens to bytes on the wire; may change them in place.</summary>
/// <param name="address">Address called.</param>
/// <param name="reading">Whether the bytes go from chip to Pi.</param>
/// <param name="bytes">The bytes after the address.</param>
internal delegate void WireFault(int address, bool reading, Span<byte> bytes);

/// <summary>An I2C bus with simulated chips, byte for byte. Chips come and go while it runs.</summary>
internal sealed class SimulatedI2cBus(int number) : I2cBus
{
    private readonly Dictionary<int, List<SimulatedChip>> _chips = [];
    private readonly HashSet<int> _open = [];
    private readonly Lock _lock = new();

    /// <summary>Damages bytes on their way, when set.</summary>
    public WireFault? Fault { get; set; }

    /// <summary>Plugs a chip in. A second one at the same address answers at the same time: the lower level wins each bit.</summary>
    public void Attach(int address, SimulatedChip chip)
    {
        lock (_lock)
        {
            if (!_chips.TryGetValue(address, out var chips))
                _chips.Add(address, chips = []);
            chips.Add(chip);
        }
    }

    /// <summary>Unplugs whatever is at an address.</summary>
    /// <returns>The chips, to plug in again; they have lost their power.</returns>
    public IReadOnlyList<SimulatedChip> Detach(int address)
    {
        lock (_lock)
        {
            _chips.Remove(address, out var chips);
            foreach (var chip in chips ?? [])
                chip.PowerCycle();
            return chips ?? [];
        }
    }

    public override I2cDevice CreateDevice(int deviceAddress)
    {
        lock (_lock)
        {
            return _open.Add(deviceAddress)
                ? new OpenDevice(this, new I2cConnectionSettings(number, deviceAddress))
                : throw new ArgumentException($"Device with address 0x{deviceAddress:X2} is already open.");
        }
    }

    public override void RemoveDevice(int deviceAddress)
    {
        lock (_lock)
            _open.Remove(deviceAddress);
    }

    private void Transfer(int address, ReadOnlySpan<byte> written, Span<byte> read)
    {
        lock (_lock)
        {
            Span<byte> arrived = stackalloc byte[written.Length];
            written.CopyTo(arrived);
            if (written.Length > 0)
                Fault?.Invoke(address, false, arrived);

            Span<byte> sent = stackalloc byte[read.Length];
            read.Fill(0xFF);
            var answered = false;
            foreach (var chip in At(address))
            {
                if (read.Length == 0)
                    chip.Write(arrived);
                else if (written.Length == 0)
                    chip.Read(sent);
                else
                    chip.WriteRead(arrived, sent);
                for (var i = 0; i < sent.Length; i++)
                    read[i] &= sent[i];
                answered = true;
            }

            if (!answered)
                throw SimulatedChip.NotAcknowledged();
            if (read.Length > 0)
                Fault?.Invoke(address, true, read);
        }
    }

    private List<SimulatedChip> At(int address)
    {
        List<SimulatedChip> found = [];
        if (_chips.TryGetValue(address, out var direct))
            found.AddRange(direct);
        foreach (var chips in _chips.Values)
        {
            foreach (var chip in chips)
                found.AddRange(chip.Behind(address));
        }

        return found;
    }

    private sealed class OpenDevice(SimulatedI2cBus bus, I2cConnectionSettings settings) : I2cDevice
    {
        public override I2cConnectionSettings ConnectionSettings => settings;

        public override void Read(Span<byte> buffer) => bus.Transfer(settings.DeviceAddress, [], buffer);

        public override void Write(ReadOnlySpan<byte> buffer) => bus.Transfer(settings.DeviceAddress, buffer, []);

        public override void WriteRead(ReadOnlySpan<byte> writeBuffer, Span<byte> readBuffer) =>
            bus.Transfer(settings.DeviceAddress, writeBuffer, readBuffer);

        public override byte ReadByte()
        {
            Span<byte> one = stackalloc byte[1];
            Read(one);
            return one[0];
        }

        public override void WriteByte(byte value) => Write([value]);

        protected override void Dispose(bool disposing)
        {
            bus.RemoveDevice(settings.DeviceAddress);
            base.Dispose(disposing);
        }
    }
}
