using System.Device.Gpio;
using Microsoft.Extensions.Options;
using PavementWatch.Gateway.Buses;
using PavementWatch.Gateway.Publishing;
using PavementWatch.Gateway.Sampling;
using PavementWatch.Gateway.Sensors;
using PavementWatch.Gateway.Settings;

namespace PavementWatch.Gateway.Gpio;

/// <summary>Drives the lamp and watches the button, ten times a second; does nothing where neither is fitted.</summary>
internal sealed class Panel(
    IOptions<PanelOptions> options,
    IOptions<SamplingOptions> sampling,
    IBuses buses,
    IProbes probes,
    ServerSettings settings,
    LatestReadings latest,
    StatusReporter status,
    TimeProvider time,
    ILogger<Panel> logger) : BackgroundService
{
    private static readonly TimeSpan Tick = TimeSpan.FromMilliseconds(100);

    private readonly PanelOptions _options = options.Value;
    private readonly ServiceButton _button = new(options.Value.Hold);
    private readonly long _start = time.GetTimestamp();
    private (int Faults, TimeSpan At)? _checked;
    private bool? _lit;

    /// <summary>Looks at the button and sets the lamp once; called by the loop.</summary>
    public void Look(GpioController pins)
    {
        var elapsed = time.GetElapsedTime(_start);
        if (_options.ButtonPin is { } button && _button.Look(pins.Read(button) == PinValue.Low, elapsed))
        {
            var result = SelfCheck.Run(probes, time.GetUtcNow());
            Log.SelfChecked(logger, result.ToString());
            status.SelfChecked(result.ToString());
            _checked = (result.Faults.Count, elapsed);
        }

        if (_options.LampPin is not { } lamp)
            return;
        bool? telling = _checked is { } c ? LampPattern.OfSelfCheck(c.Faults, elapsed - c.At) : null;
        if (telling is null)
            _checked = null;
        var lit = telling ?? LampPattern.IsLit(
            LampRule.Signal(settings.Spots, latest, settings.Estimates, time.GetUtcNow(), sampling.Value.Interval, elapsed), elapsed);
        if (lit == _lit)
            return;
        pins.Write(lamp, lit != _options.LampActiveLow ? PinValue.High : PinValue.Low);
        _lit = lit;
    }

    protected override async Task ExecuteAsync(CancellationToken stoppingToken)
    {
        if (_options.LampPin is null && _options.ButtonPin is null)
            return;
        await Task.Yield();
        try
        {
            var pins = Open();
            using var timer = new PeriodicTimer(Tick, time);
            while (await timer.WaitForNextTickAsync(stoppingToken))
                Look(pins);
        }
        catch (OperationCanceledException) when (stoppingToken.IsCancellationRequested)
        {
        }
        catch (Exception e) when (e is IOException or UnauthorizedAccessException or PlatformNotSupportedException
            or NotSupportedException or InvalidOperationException)
        {
            // Readings matter more than the lamp.
            Log.NoPins(logger, e.Message);
        }
    }

    /// <summary>Opens the pins; the lamp starts dark.</summary>
    public GpioController Open()
    {
        var pins = buses.Gpio();
        if (_options.LampPin is { } lamp)
            pins.OpenPin(lamp, PinMode.Output, _options.LampActiveLow ? PinValue.High : PinValue.Low);
        if (_options.ButtonPin is { } button)
            pins.OpenPin(button, PinMode.InputPullUp);
        return pins;
    }
}
