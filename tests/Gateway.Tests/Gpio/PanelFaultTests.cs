using System.Device.Gpio;
using Microsoft.Extensions.Configuration;
using Microsoft.Extensions.DependencyInjection;
using Microsoft.Extensions.Hosting;
using Microsoft.Extensions.Time.Testing;
using PavementWatch.Core.Wire;
using PavementWatch.Gateway.Buses;
using PavementWatch.Gateway.Gpio;
using PavementWatch.Gateway.Hosting;
using PavementWatch.Gateway.Publishing;
using PavementWatch.Gateway.Sampling;
using PavementWatch.Gateway.Simulation;
using PavementWatch.Tests;

namespace PavementWatch.Gateway.Tests.Gpio;

/// <summary>The panel's own loop over pins that fail for a while.</summary>
public sealed class PanelFaultTests : IAsyncLifetime
{
    private const int Lamp = 17;
    private const int Button = 27;

    private readonly FakeTimeProvider _time = new(new DateTimeOffset(2026, 7, 14, 18, 0, 0, TimeSpan.Zero));
    private readonly TemporaryFolder _folder = new();
    private readonly IHost _host;
    private readonly Panel _panel;
    private readonly SimulatedGpioDriver _pins;

    public PanelFaultTests()
    {
        _host = GatewayHost.Build(new GatewayHostOptions
        {
            Settings = new ConfigurationBuilder().AddInMemoryCollection(new Dictionary<string, string?>
            {
                ["Gateway:Id"] = "north-gate",
                ["Publishing:BrokerHost"] = "127.0.0.1",
                ["Outbox:Path"] = _folder["outbox.db"],
                ["Spots:plaza:Surface"] = "asphalt",
                ["Probes:plaza-ir:Kind"] = "Mlx90614",
                ["Probes:plaza-ir:Spot"] = "plaza",
                ["Probes:air:Kind"] = "Sht4x",
                ["Panel:LampPin"] = $"{Lamp}",
                ["Panel:ButtonPin"] = $"{Button}",
            }).Build(),
            Time = _time,
            // Too hot: the lamp is lit as soon as it can be.
            World = (_, _) => new TrueValues(60, 31, 40, 20),
        });
        _panel = _host.Services.GetServices<IHostedService>().OfType<Panel>().Single();
        _pins = ((SimulatedBuses)_host.Services.GetRequiredService<IBuses>()).Pins;
        var sampling = _host.Services.GetRequiredService<ISampling>();
        for (var step = 0; step < 24; step++)
        {
            sampling.Step(_time.GetUtcNow());
            _time.Advance(TimeSpan.FromSeconds(5));
        }
    }

    public ValueTask InitializeAsync() => ValueTask.CompletedTask;

    public async ValueTask DisposeAsync()
    {
        await _panel.StopAsync(CancellationToken.None);
        _host.Dispose();
        _folder.Dispose();
    }

    [Fact]
    public async Task Pins_that_another_program_holds_at_first_are_used_once_it_lets_go()
    {
        _pins.Held.Add(Lamp);
        await _panel.StartAsync(TestContext.Current.CancellationToken);
        await UntilAsync(() => Fault?.Contains("lamp and button do not work: Device or resource busy; check the pins under Panel", StringComparison.Ordinal) == true);

        _pins.Held.Remove(Lamp);

        await UntilAsync(() => _pins.Level(Lamp) == PinValue.High && Fault is null);
    }

    [Theory]
    [InlineData(typeof(IOException))]
    [InlineData(typeof(ObjectDisposedException))]
    [InlineData(typeof(ArgumentException))]
    public async Task Pins_that_fail_in_the_middle_are_told_and_come_back(Type fault)
    {
        await _panel.StartAsync(TestContext.Current.CancellationToken);
        await UntilAsync(() => _pins.Level(Lamp) == PinValue.High);
        Assert.Null(Fault);

        _pins.Broken = (Exception)Activator.CreateInstance(fault, "the chip is gone")!;
        await UntilAsync(() => Fault?.Contains("the chip is gone", StringComparison.Ordinal) == true);

        _pins.Broken = null;
        await UntilAsync(() => _pins.Level(Lamp) == PinValue.High && Fault is null);
    }

    /// <summary>As the status on the wire has it.</summary>
    private string? Fault =>
        GatewayReport.TryRead(_host.Services.GetRequiredService<StatusReporter>().Write())!.PanelFault;

    private Task UntilAsync(Func<bool> reached) => Patience.UntilAsync(
        reached,
        () => $"in vain; the lamp is {_pins.Level(Lamp)}, the fault is {Fault ?? "none"}",
        () => _time.Advance(TimeSpan.FromMilliseconds(100)));
}
