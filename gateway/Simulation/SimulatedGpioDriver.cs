using System.Device.Gpio;

namespace PavementWatch.Gateway.Simulation;

/// <summary>Pins that are not there: keeps what is written and gives what a test or the demo sets.</summary>
internal sealed class SimulatedGpioDriver : GpioDriver
{
    private readonly Dictionary<int, PinMode> _modes = [];
    private readonly Dictionary<int, PinValue> _values = [];
    private readonly Dictionary<int, PinChangeEventHandler?> _handlers = [];
    private readonly Lock _lock = new();

    protected override int PinCount => 28;

    /// <summary>Every value written, in order, when set.</summary>
    public Action<int, PinValue>? Written { get; set; }

    /// <summary>The level of a pin.</summary>
    public PinValue Level(int pin)
    {
        lock (_lock)
            return _values.GetValueOrDefault(pin, Resting(pin));
    }

    /// <summary>Drives a pin from outside, as a button does.</summary>
    public void Drive(int pin, PinValue value)
    {
        PinChangeEventHandler? handler;
        lock (_lock)
        {
            if (_values.GetValueOrDefault(pin, Resting(pin)) == value)
                return;
            _values[pin] = value;
            handler = _handlers.GetValueOrDefault(pin);
        }

        handler?.Invoke(this, new PinValueChangedEventArgs(
            value == PinValue.High ? PinEventTypes.Rising : PinEventTypes.Falling, pin));
    }

    /// <summary>Pins another program holds.</summary>
    public ISet<int> Held { get; } = new HashSet<int>();

    /// <summary>What reading and writing fail with, as when the chip behind the pins is gone; <c>null</c> while they work.</summary>
    public Exception? Broken { get; set; }

    protected override void OpenPin(int pinNumber)
    {
        if (Held.Contains(pinNumber))
            throw new IOException("Device or resource busy");
    }

    protected override void ClosePin(int pinNumber)
    {
        lock (_lock)
            _modes.Remove(pinNumber);
    }

    protected override void SetPinMode(int pinNumber, PinMode mode)
    {
        lock (_lock)
            _modes[pinNumber] = mode;
    }

    protected override PinMode GetPinMode(int pinNumber)
    {
        lock (_lock)
            return _modes.GetValueOrDefault(pinNumber, PinMode.Input);
    }

    protected override bool IsPinModeSupported(int pinNumber, PinMode mode) => true;

    protected override PinValue Read(int pinNumber) => Broken is { } fault ? throw fault : Level(pinNumber);

    protected override void Write(int pinNumber, PinValue value)
    {
        if (Broken is { } fault)
            throw fault;
        lock (_lock)
            _values[pinNumber] = value;
        Written?.Invoke(pinNumber, value);
    }

    protected override WaitForEventResult WaitForEvent(
        int pinNumber, PinEventTypes eventTypes, CancellationToken cancellationToken) =>
        throw new NotSupportedException("Nobody waits for a simulated pin; register a callback");

    protected override void AddCallbackForPinValueChangedEvent(
        int pinNumber, PinEventTypes eventTypes, PinChangeEventHandler callback)
    {
        lock (_lock)
            _handlers[pinNumber] = _handlers.GetValueOrDefault(pinNumber) + callback;
    }

    protected override void RemoveCallbackForPinValueChangedEvent(int pinNumber, PinChangeEventHandler callback)
    {
        lock (_lock)
            _handlers[pinNumber] = _handlers.GetValueOrDefault(pinNumber) - callback;
    }

    private PinValue Resting(int pin) =>
        _modes.GetValueOrDefault(pin) == PinMode.InputPullUp ? PinValue.High : PinValue.Low;
}
