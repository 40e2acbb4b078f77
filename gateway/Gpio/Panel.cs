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
    private static readonly TimeSpan LongestPause = TimeSpan.FromMinutes(1);

    private readonly PanelOptions _options = options.Value;
    private readonly ServiceButton _button = new(options.Value.Hold);
    private readonly long _start = time.GetTimestamp();
    private (int Faults, TimeSpan At)? _checked;
    private bool? _lit;
    private string? _fault;

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
        // One panel on one machine: nobody to be scattered from.
        var backOff = new BackOff(TimeSpan.FromSeconds(1), LongestPause, new Random(_options.LampPin ?? 0));
        while (!stoppingToken.IsCancellationRequested)
        {
            var began = time.GetTimestamp();
            try
            {
                await DriveAsync(stoppingToken);
            }
            catch (OperationCanceledException) when (stoppingToken.IsCancellationRequested)
            {
                return;
            }
            catch (Exception error)
            {
                // Readings matter more than the lamp, and the lamp more than to fail once and for all.
                if (time.GetElapsedTime(began) > LongestPause)
                    backOff.Reset();
                NotWorking(error);
            }

            await Task.Delay(backOff.Next(), time, stoppingToken).ContinueWith(_ => { }, TaskScheduler.Default);
        }
    }

    private async Task DriveAsync(CancellationToken stoppingToken)
    {
        try
        {
            var pins = Open();
            using var timer = new PeriodicTimer(Tick, time);
            while (await timer.WaitForNextTickAsync(stoppingToken))
            {
                Look(pins);
                Working();
            }
        }
        finally
        {
            buses.CloseGpio();
        }
    }

    private void NotWorking(Exception error)
    {
        var fault = $"lamp and button do not work: {error.Message.TrimEnd('.')}; check the pins under Panel, and add the service's user to the group gpio";
        if (_fault != fault)
            Log.NoPins(logger, fault);
        _fault = fault;
        status.PanelFault(fault);
    }

    private void Working()
    {
        if (_fault is null)
            return;
        _fault = null;
        Log.PinsBack(logger);
        status.PanelFault(null);
    }

    /// <summary>Opens the pins; the lamp starts dark.</summary>
    public GpioController Open()
    {
        _lit = null;
        var pins = buses.Gpio();
        if (_options.LampPin is { } lamp)
            pins.OpenPin(lamp, PinMode.Output, _options.LampActiveLow ? PinValue.High : PinValue.Low);
        if (_options.ButtonPin is { } button)
            pins.OpenPin(button, PinMode.InputPullUp);
        return pins;
    }
}
