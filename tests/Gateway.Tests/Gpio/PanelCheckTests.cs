using System.Device.Gpio;
using Microsoft.Extensions.Options;
using PavementWatch.Gateway.Checks;
using PavementWatch.Gateway.Gpio;
using PavementWatch.Gateway.Simulation;

namespace PavementWatch.Gateway.Tests.Gpio;

public sealed class PanelCheckTests : IDisposable
{
    private readonly SimulatedBuses _buses = new();
    private readonly List<string> _written = [];

    public void Dispose() => _buses.Dispose();

    private async Task<string[]> Check(PanelOptions options)
    {
        _buses.Pins.Written = (pin, value) => _written.Add($"{pin} {value}");
        var findings = await new PanelCheck(Options.Create(options), _buses).RunAsync(TestContext.Current.CancellationToken);
        return [.. findings.Select(f => f.ToString())];
    }

    [Fact]
    public async Task The_lamp_is_lit_and_dark_again_and_the_button_looked_at()
    {
        var findings = await Check(new PanelOptions { LampPin = 17, ButtonPin = 27 });
        Assert.Equal(
            [
                "ok   lamp: pin 17 was lit for two seconds. To do: if it stayed dark, look at its driver, its supply and LampActiveLow",
                "ok   button: pin 27 is high, not pressed",
            ],
            findings);
        Assert.Equal(["17 High", "17 Low"], _written[^2..]);
        // The pins are free again.
        Assert.Equal(2, (await Check(new PanelOptions { LampPin = 17, ButtonPin = 27 })).Length);
    }

    [Fact]
    public async Task A_shorted_button_is_doubtful_and_what_is_not_fitted_is_not_tried()
    {
        _buses.Pins.Drive(27, PinValue.High);
        _buses.Pins.Drive(27, PinValue.Low);
        Assert.Equal(
            [
                "-    lamp: none in the settings",
                "look button: pin 27 is low, as if pressed. To do: let go of it, or look for a short to ground",
            ],
            await Check(new PanelOptions { ButtonPin = 27 }));
    }

    [Fact]
    public async Task Pins_somebody_else_holds_are_named()
    {
        _buses.Pins.Held.Add(17);
        Assert.Equal(
            "FAIL lamp: pin 17 cannot be used (Device or resource busy). To do: stop the service while checking, and add the user to the group gpio",
            (await Check(new PanelOptions { LampPin = 17 }))[0]);
    }
}
