using System.Device.Gpio;
using System.Device.I2c;
using System.Diagnostics.CodeAnalysis;

namespace PavementWatch.Gateway.Buses;

/// <summary>The buses of the machine we run on.</summary>
/// <param name="oneWireFolder">Where the kernel shows 1-wire devices, one folder each.</param>
internal sealed class HardwareBuses(string oneWireFolder) : IBuses
{
    private readonly Dictionary<int, I2cBus> _i2c = [];
    private readonly Lock _lock = new();
    private GpioController? _gpio;

    public HardwareBuses()
        : this("/sys/bus/w1/devices")
    {
    }

    public I2cBus I2c(int number)
    {
        lock (_lock)
        {
            if (!_i2c.TryGetValue(number, out var bus))
            {
                bus = I2cBus.Create(number);
                _i2c.Add(number, bus);
            }

            return bus;
        }
    }

    public IReadOnlyList<string> OneWireDevices() =>
        Directory.Exists(oneWireFolder)
            ? [.. Directory.EnumerateDirectories(oneWireFolder)
                .Select(d => Path.GetFileName(d))
                .Where(d => d is [_, _, '-', ..])
                .Order(StringComparer.Ordinal)]
            : [];

    public string ReadOneWire(string device) => File.ReadAllText(Path.Combine(oneWireFolder, device, "w1_slave"));

    public GpioController Gpio()
    {
        lock (_lock)
            return _gpio ??= new GpioController();
    }

    public void CloseGpio()
    {
        lock (_lock)
        {
            var closing = _gpio;
            _gpio = null;
            closing?.Dispose();
        }
    }

    [SuppressMessage("ApiDesign", "RS0030", Justification = "A sensor converts in physical time; no clock of ours moves it")]
    public void Wait(TimeSpan time) => Thread.Sleep(time);

    public void Dispose()
    {
        foreach (var bus in _i2c.Values)
            bus.Dispose();
        _gpio?.Dispose();
    }
}
