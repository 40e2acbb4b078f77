using System.Device.Gpio;
using System.Device.I2c;
using System.Reflection;
using Microsoft.Extensions.Logging.Abstractions;
using Microsoft.Extensions.Options;
using PavementWatch.Gateway.Buses;
using PavementWatch.Gateway.Checks;
using PavementWatch.Gateway.Sensors;
using PavementWatch.Gateway.Simulation;

namespace PavementWatch.Gateway.Tests.Checks;

/// <summary>The look around on a bus where a probe does not answer: whoever was asked is let go of again.</summary>
public sealed class ProbeCheckTests
{
    private const int Missing = 0x5B;

    [Fact]
    public async Task Whoever_else_answers_is_named_each_time_and_stays_free()
    {
        using var buses = new SimulatedBuses();
        buses.Simulated(1).Attach(0x5A, new SimulatedMlx90614(0x5A, () => (25, 25)));

        foreach (var time in new[] { "first", "second" })
        {
            var remedy = await RemedyAsync(buses);
            Assert.True(remedy.EndsWith("on that bus 0x5A answers, which no probe has", StringComparison.Ordinal), $"{time} time: {remedy}");
        }

        using var free = buses.I2c(1).CreateDevice(0x5A);
    }

    [Fact]
    public async Task The_library_s_own_bus_lets_go_of_every_address_too()
    {
        Assert.SkipUnless(OperatingSystem.IsLinux(), "the machine's buses are Linux's");
        using var buses = new LinuxBuses();

        var remedy = await RemedyAsync(buses);

        // Nobody answers behind the null device; every address was asked and must be free again.
        Assert.EndsWith("nobody else answers on that bus", remedy, StringComparison.Ordinal);
        for (var address = 0x08; address <= 0x77; address++)
            buses.I2c(1).CreateDevice(address).Dispose();
    }

    private static async Task<string> RemedyAsync(IBuses buses)
    {
        var table = Options.Create(new ProbeTable { ["plaza-ir"] = new ProbeOptions { Kind = ProbeKind.Mlx90614, Address = Missing, Spot = "plaza" } });
        using var metrics = new SensorMetrics();
        using var probes = new ProbeSet(table, buses, metrics, NullLogger<ProbeSet>.Instance);
        return Assert.Single(await new ProbeCheck(probes, table, buses, TimeProvider.System).RunAsync(TestContext.Current.CancellationToken)).Remedy;
    }

    /// <summary>The bus of System.Device.Gpio itself, on a file that is no bus.</summary>
    private sealed class LinuxBuses : IBuses
    {
        private readonly I2cBus _bus;

        public LinuxBuses()
        {
            var handle = File.OpenHandle("/dev/null", FileMode.Open, FileAccess.ReadWrite);
            var kind = typeof(I2cBus).Assembly.GetType("System.Device.I2c.UnixI2cBus", throwOnError: true)!;
            _bus = (I2cBus)Activator.CreateInstance(kind, BindingFlags.Instance | BindingFlags.Public | BindingFlags.NonPublic, null, [(int)handle.DangerousGetHandle(), 1], null)!;
            // The bus closes the file.
            handle.SetHandleAsInvalid();
        }

        public I2cBus I2c(int number) => _bus;

        public IReadOnlyList<string> OneWireDevices() => [];

        public string ReadOneWire(string device) => throw new DirectoryNotFoundException(device);

        public GpioController Gpio() => throw new NotSupportedException();

        public void CloseGpio()
        {
        }

        public void Wait(TimeSpan time)
        {
        }

        public void Dispose() => _bus.Dispose();
    }
}
