using System.Device.Gpio;
using Microsoft.Extensions.Options;
using PavementWatch.Gateway.Buses;
using PavementWatch.Gateway.Gpio;

namespace PavementWatch.Gateway.Checks;

/// <summary>Lights the lamp for two seconds, for the person in front of it to see, and looks at the button.</summary>
internal sealed class PanelCheck(IOptions<PanelOptions> options, IBuses buses) : ICheck
{
    private static readonly TimeSpan Lit = TimeSpan.FromSeconds(2);

    public Task<IReadOnlyList<Finding>> RunAsync(CancellationToken cancellationToken) =>
        Task.FromResult<IReadOnlyList<Finding>>(
        [
            Try("lamp", options.Value.LampPin, Lamp),
            Try("button", options.Value.ButtonPin, Button),
        ]);

    private Finding Lamp(int pin)
    {
        var (lit, dark) = options.Value.LampActiveLow ? (PinValue.Low, PinValue.High) : (PinValue.High, PinValue.Low);
        var pins = buses.Gpio();
        pins.OpenPin(pin, PinMode.Output, dark);
        pins.Write(pin, lit);
        buses.Wait(Lit);
        pins.Write(pin, dark);
        pins.ClosePin(pin);
        return new Finding(Verdict.Good, "lamp", $"pin {pin} was lit for two seconds",
            "if it stayed dark, look at its driver, its supply and LampActiveLow");
    }

    private Finding Button(int pin)
    {
        var pins = buses.Gpio();
        pins.OpenPin(pin, PinMode.InputPullUp);
        var pressed = pins.Read(pin) == PinValue.Low;
        pins.ClosePin(pin);
        return pressed
            ? new Finding(Verdict.Doubtful, "button", $"pin {pin} is low, as if pressed", "let go of it, or look for a short to ground")
            : new Finding(Verdict.Good, "button", $"pin {pin} is high, not pressed");
    }

    private static Finding Try(string what, int? pin, Func<int, Finding> look)
    {
        if (pin is not { } fitted)
            return new Finding(Verdict.NotTried, what, "none in the settings");
        try
        {
            return look(fitted);
        }
        catch (Exception e) when (e is IOException or UnauthorizedAccessException or PlatformNotSupportedException
            or NotSupportedException or InvalidOperationException)
        {
            return new Finding(Verdict.Failed, what, $"pin {fitted} cannot be used ({e.Message.TrimEnd('.')})",
                "stop the service while checking, and add the user to the group gpio");
        }
    }
}
