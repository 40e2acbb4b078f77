using System.Device.Gpio;
using System.Device.I2c;

namespace PavementWatch.Gateway.Buses;

/// <summary>
/// What the sensors hang on: I2C buses, the kernel's 1-wire files, the pins. The Pi's own in <see cref="HardwareBuses"/>,
/// simulated register by register in demo and tests; nothing above this line knows which.
/// </summary>
internal interface IBuses : IDisposable
{
    /// <summary>An I2C bus; the same object each time.</summary>
    /// <param name="number">Number of the bus, 1 on a Pi's header.</param>
    /// <returns>The bus. It belongs to this object; do not dispose it.</returns>
    I2cBus I2c(int number);

    /// <summary>Names of the 1-wire devices the kernel has found, e.g. <c>28-0316a2795b1c</c>.</summary>
    IReadOnlyList<string> OneWireDevices();

    /// <summary>Has a 1-wire thermometer measure and gives what the kernel says of it: the file <c>w1_slave</c>.</summary>
    /// <param name="device">Its name.</param>
    /// <exception cref="IOException">It is not there.</exception>
    string ReadOneWire(string device);

    /// <summary>The pins; the same object each time.</summary>
    /// <returns>The controller. It belongs to this object; do not dispose it.</returns>
    GpioController Gpio();

    /// <summary>Closes the pins after a fault; the next <see cref="Gpio"/> opens them anew.</summary>
    void CloseGpio();

    /// <summary>Lets a sensor finish what it was told: physical time on hardware, none in the simulation.</summary>
    /// <param name="time">From the sensor's data sheet.</param>
    void Wait(TimeSpan time);
}
