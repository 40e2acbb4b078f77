using System.Device.Gpio;
using System.Device.I2c;

namespace PavementWatch.Gateway.Buses;

/// <summary>
/// What the sensors hang on: I2C buses, the kernel's 1-wire files, the pins. The Pi's own in <see cref="HardwareBuses"/>,
/// simulated register by register in demo and tests; nothing above this line knows which.
/// </summary>
internal interface IBuses : IDisposable
{
    /// <summary>Folder in which the kernel shows 1-wire devices, one folder each, holding <c>w1_slave</c>.</summary>
    string OneWireFolder { get; }

    /// <summary>An I2C bus; the same object each time.</summary>
    /// <param name="number">Number of the bus, 1 on a Pi's header.</param>
    /// <returns>The bus. It belongs to this object; do not dispose it.</returns>
    I2cBus I2c(int number);

    /// <summary>The pins; the same object each time.</summary>
    /// <returns>The controller. It belongs to this object; do not dispose it.</returns>
    GpioController Gpio();

    /// <summary>Lets a sensor finish what it was told: physical time on hardware, none in the simulation.</summary>
    /// <param name="time">From the sensor's data sheet.</param>
    void Wait(TimeSpan time);
}
