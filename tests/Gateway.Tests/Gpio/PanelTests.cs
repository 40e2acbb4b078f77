using System.Device.Gpio;
using Microsoft.Extensions.Configuration;
using Microsoft.Extensions.DependencyInjection;
using Microsoft.Extensions.Hosting;
using Microsoft.Extensions.Time.Testing;
using PavementWatch.Gateway.Buses;
using PavementWatch.Gateway.Gpio;
using PavementWatch.Gateway.Hosting;
using PavementWatch.Gateway.Publishing;
using PavementWatch.Gateway.Sampling;
using PavementWatch.Gateway.Simulation;

namespace PavementWatch.Gateway.Tests.Gpio;

/// <summary>Lamp and button on simulated pins, with the gateway's own sampling behind them.</summary>
public sealed class PanelTests : IDisposable
{
    private const int Lamp = 17;
    private const int Button = 27;

    private readonly FakeTimeProvider _time = new(new DateTimeOffset(2025, 7, 14, 18, 0, 0, TimeSpan.Zero));
    private readonly TemporaryFolder _folder = new();
    private readonly IHost _host;
    private readonly Panel _panel;
    private readonly SimulatedBuses _buses;
    private readonly GpioController _pins;
    private double _surface = 40;

    public PanelTests() : this(activeLow: false)
    {
    }

    private PanelTests(bool activeLow)
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
                ["Panel:LampActiveLow"] = activeLow ? "true" : "false",
                ["Panel:ButtonPin"] = $"{Button}",
            }).Build(),
            Time = _time,
            World = (_, _) => new TrueValues(_surface, 31, 40, 20),
        });
        _panel = _host.Services.GetServices<IHostedService>().OfType<Panel>().Single();
        _buses = (SimulatedBuses)_host.Services.GetRequiredService<IBuses>();
        _pins = _panel.Open();
    }

    public void Dispose()
    {
        _host.Dispose();
        _folder.Dispose();
    }

    /// <summary>Runs sampling and panel; gives the lamp's light by tenths of a second.</summary>
    private string Run(TimeSpan time)
    {
        var sampling = _host.Services.GetRequiredService<ISampling>();
        List<char> light = [];
        for (var i = 0; i < time.TotalMilliseconds / 100; i++)
        {
            if (i % 50 == 0)
                sampling.Step(_time.GetUtcNow());
            _panel.Look(_pins);
            light.Add(_buses.Pins.Level(Lamp) == PinValue.High ? '#' : '.');
            _time.Advance(TimeSpan.FromMilliseconds(100));
        }

        return string.Concat(light);
    }

    [Fact]
    public void The_lamp_goes_on_soon_after_the_surface_passes_its_limit_and_off_when_it_has_cooled()
    {
        Assert.DoesNotContain('#', Run(TimeSpan.FromMinutes(2)));
        _surface = 53;
        var light = Run(TimeSpan.FromMinutes(1));
        Assert.InRange(light.IndexOf('#'), 1, 200);
        Assert.DoesNotContain('.', light[200..]);
        _surface = 45;
        Run(TimeSpan.FromMinutes(2));
        Assert.DoesNotContain('#', Run(TimeSpan.FromMinutes(1)));
    }

    [Fact]
    public void A_sensor_unplugged_while_cool_becomes_a_double_blink()
    {
        Run(TimeSpan.FromMinutes(2));
        _buses.Simulated(1).Detach(0x5A);
        Run(TimeSpan.FromMinutes(5));
        Assert.Contains("##..##....", Run(TimeSpan.FromSeconds(6)), StringComparison.Ordinal);
    }

    [Fact]
    public void Holding_the_button_checks_every_probe_blinks_the_faults_and_reports_them()
    {
        Run(TimeSpan.FromMinutes(2));
        _buses.Simulated(1).Detach(0x44);
        _buses.Pins.Drive(Button, PinValue.Low);
        var light = Run(TimeSpan.FromSeconds(10));
        _buses.Pins.Drive(Button, PinValue.High);
        Assert.Equal($"{new string('.', 60)}####....", light[..68]);
        var report = System.Text.Encoding.UTF8.GetString(_host.Services.GetRequiredService<StatusReporter>().Write());
        Assert.Contains("self-check: 1 of 2 probes failed: probe air, SHT4x: no answer at bus 1, address 0x44", report, StringComparison.Ordinal);
    }

    [Fact]
    public void With_all_well_the_lamp_answers_three_seconds_of_light()
    {
        Run(TimeSpan.FromMinutes(2));
        _buses.Pins.Drive(Button, PinValue.Low);
        Assert.Equal($"{new string('.', 50)}{new string('#', 30)}....................", Run(TimeSpan.FromSeconds(10)));
    }

    [Fact]
    public void A_lamp_lit_by_a_low_level_starts_dark_and_is_turned_round()
    {
        using var other = new PanelTests(activeLow: true);
        Assert.Equal(PinValue.High, other._buses.Pins.Level(Lamp));
        other._surface = 60;
        other.Run(TimeSpan.FromMinutes(1));
        Assert.Equal(PinValue.Low, other._buses.Pins.Level(Lamp));
    }
}
