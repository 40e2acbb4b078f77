using System.Device.Gpio;
using System.Device.I2c;
using PavementWatch.Core.Readings;
using PavementWatch.Core.Surfaces;
using PavementWatch.Core.Weather;
using PavementWatch.Gateway.Buses;
using PavementWatch.Gateway.Sensors;
using PavementWatch.Gateway.Sensors.Mlx90614;
using PavementWatch.Gateway.Spots;

namespace PavementWatch.Gateway.Simulation;

/// <summary>Buses with the chips the settings name, looking at a simulated world. For the demo and the tests.</summary>
internal sealed class SimulatedBuses : IBuses
{
    private readonly Dictionary<int, SimulatedI2cBus> _i2c = [];
    private readonly Dictionary<(int Bus, int Address), SimulatedTca9548a> _multiplexers = [];
    private readonly Dictionary<string, Func<string>> _oneWire = [];
    private readonly Lock _lock = new();
    private GpioController? _gpio;

    /// <summary>The pins, to press the button and look at the lamp.</summary>
    public SimulatedGpioDriver Pins { get; } = new();

    /// <summary>Plugs in a chip for every probe of the settings.</summary>
    /// <param name="probes">The probes; each with its kind, bus, address.</param>
    /// <param name="spots">The spots; their emissivity is what the surface really has.</param>
    /// <param name="world">What is the case there.</param>
    public static SimulatedBuses For(ProbeTable probes, SpotTable spots, SimulatedWorld world)
    {
        var buses = new SimulatedBuses();
        foreach (var (name, probe) in probes)
            buses.Plug(name, probe, spots, world);
        return buses;
    }

    /// <summary>A new MLX90614 alone on the header's bus, to try <c>gateway mlx90614</c> on.</summary>
    public static SimulatedBuses OfOneMlx90614()
    {
        var buses = new SimulatedBuses();
        buses.Simulated(1).Attach(
            Mlx90614Sensor.FactoryAddress, new SimulatedMlx90614(Mlx90614Sensor.FactoryAddress, () => (25, 25)));
        return buses;
    }

    /// <summary>A bus, to plug, unplug and disturb.</summary>
    public SimulatedI2cBus Simulated(int number)
    {
        lock (_lock)
        {
            if (!_i2c.TryGetValue(number, out var bus))
                _i2c.Add(number, bus = new SimulatedI2cBus(number));
            return bus;
        }
    }

    /// <summary>Hangs a device on the 1-wire bus.</summary>
    /// <param name="device">Its name.</param>
    /// <param name="file">What its file says when read.</param>
    public void OneWire(string device, Func<string> file) => _oneWire[device] = file;

    /// <summary>Takes a device off the 1-wire bus.</summary>
    public void RemoveOneWire(string device) => _oneWire.Remove(device);

    public I2cBus I2c(int number) => Simulated(number);

    public IReadOnlyList<string> OneWireDevices() => [.. _oneWire.Keys.Order(StringComparer.Ordinal)];

    public string ReadOneWire(string device) =>
        _oneWire.TryGetValue(device, out var file)
            ? file()
            : throw new DirectoryNotFoundException($"Could not find a part of the path '{device}'.");

    public GpioController Gpio()
    {
        lock (_lock)
            return _gpio ??= new GpioController(Pins);
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

    public void Wait(TimeSpan time)
    {
        // Simulated chips answer at once.
    }

    public void Dispose()
    {
        foreach (var bus in _i2c.Values)
            bus.Dispose();
        CloseGpio();
    }

    private void Plug(string name, ProbeOptions probe, SpotTable spots, SimulatedWorld world)
    {
        var spot = SpotId.Parse(probe.Spot ?? spots.Keys.Order(StringComparer.Ordinal).FirstOrDefault() ?? "spot");
        var address = probe.Address ?? ProbeKinds.FactoryAddress(probe.Kind) ?? 0;
        var noise = new Noise(name);
        TrueValues Now() => world.At(spot);
        if (probe.Kind == ProbeKind.Ds18b20)
        {
            OneWire(probe.Device ?? $"28-{_oneWire.Count + 1:x12}", () => SimulatedDs18b20.File(Now().SurfaceCelsius));
            return;
        }

        SimulatedChip chip = probe.Kind switch
        {
            ProbeKind.Mlx90614 => new SimulatedMlx90614(address, () =>
            {
                var now = Now();
                var ground = spots.GetValueOrDefault(spot.Value) ?? new SpotOptions { Surface = "asphalt" };
                var reflected = now.ReflectedCelsius ?? ReflectedSky.Celsius(
                    probe.Band(), now.AirCelsius, VapourPressure.Hectopascals(now.AirCelsius, now.HumidityPercent), ground.OpenSkyFraction, now.CloudFraction);
                return (GreyBody.ApparentCelsius(now.SurfaceCelsius, reflected, ground.Emissivity(), probe.Band())
                    + world.NoiseKelvin * noise.Next(), now.AirCelsius + 1.5);
            }),
            ProbeKind.Sht3x => new SimulatedSht3x(() => (Now().AirCelsius, Now().HumidityPercent)),
            ProbeKind.Sht4x => new SimulatedSht4x(() => (Now().AirCelsius, Now().HumidityPercent)),
            ProbeKind.Shtc3 => new SimulatedShtc3(() => (Now().AirCelsius, Now().HumidityPercent)),
            ProbeKind.Bme280 => new SimulatedBme280(() => (Now().AirCelsius, Now().HumidityPercent)),
            ProbeKind.Bh1750 => new SimulatedBh1750(() => Now().LightLux),
            ProbeKind.Ina219 => new SimulatedIna219(() => Now().SupplyVolts),
            _ => throw new ArgumentOutOfRangeException(nameof(probe), probe.Kind, "no simulation of this sensor"),
        };
        if (probe is { Multiplexer: { } multiplexer, Channel: { } channel })
            Multiplexer(probe.Bus, multiplexer).Attach(channel, address, chip);
        else
            Simulated(probe.Bus).Attach(address, chip);
    }

    private SimulatedTca9548a Multiplexer(int bus, int address)
    {
        if (!_multiplexers.TryGetValue((bus, address), out var multiplexer))
        {
            _multiplexers.Add((bus, address), multiplexer = new SimulatedTca9548a());
            Simulated(bus).Attach(address, multiplexer);
        }

        return multiplexer;
    }

    /// <summary>Noise of a probe, the same on every run.</summary>
    private sealed class Noise(string name)
    {
        private readonly Random _random = new(name.Aggregate(17, (hash, c) => unchecked((hash * 31) + c)));

        /// <summary>About normal: mean 0, standard deviation 1.</summary>
        public double Next()
        {
            var sum = 0.0;
            for (var i = 0; i < 12; i++)
                sum += _random.NextDouble();
            return sum - 6;
        }
    }
}
