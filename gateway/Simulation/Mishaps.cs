using System.Globalization;
using PavementWatch.Gateway.Buses;
using PavementWatch.Gateway.Clock;

namespace PavementWatch.Gateway.Simulation;

/// <summary>What goes wrong with a simulated gateway while it runs, told one mishap a line.</summary>
/// <param name="buses">The simulated buses.</param>
/// <param name="clock">The machine's clock, which may be set.</param>
/// <param name="told">Where the lines come from.</param>
/// <param name="logger">Says what happened.</param>
internal sealed class Mishaps(IBuses buses, SettableClock clock, TextReader told, ILogger<Mishaps> logger) : BackgroundService
{
    public const string Forms = "'bus 0.2' damages a fifth of the transfers on I2C bus 1, 'bus 0' mends it; 'clock -00:20:00' sets the clock back, 'clock 00:20:00' forward";

    /// <summary>Lets one happen.</summary>
    /// <returns>Whether the line tells one.</returns>
    public bool Happen(string line)
    {
        switch (line.Split(' ', StringSplitOptions.RemoveEmptyEntries))
        {
            case ["bus", var share] when double.TryParse(share, NumberStyles.Float, CultureInfo.InvariantCulture, out var fraction) && fraction is >= 0 and <= 1:
                ((SimulatedBuses)buses).Simulated(1).Fault = fraction > 0 ? new NoisyWire(fraction, new Random(1)).Damage : null;
                return true;
            case ["clock", var span] when TimeSpan.TryParse(span, CultureInfo.InvariantCulture, out var by) && by.Duration() <= TimeSpan.FromDays(3650):
                clock.Step(by);
                return true;
            default:
                return false;
        }
    }

    protected override Task ExecuteAsync(CancellationToken stoppingToken) =>
        // A console is read by waiting for it; the host does not wait with us.
        Task.Run(
            () =>
            {
                while (told.ReadLine() is { } line)
                {
                    if (Happen(line))
                        logger.Happened(line);
                    else
                        logger.NoMishap(line, Forms);
                }
            },
            CancellationToken.None).WaitAsync(stoppingToken).ContinueWith(_ => { }, TaskScheduler.Default);
}

internal static partial class Log
{
    [LoggerMessage(60, LogLevel.Warning, "simulated mishap: {Line}")]
    public static partial void Happened(this ILogger logger, string line);

    [LoggerMessage(61, LogLevel.Error, "simulated mishap: '{Line}' is none, expected one of {Forms}")]
    public static partial void NoMishap(this ILogger logger, string line, string forms);
}
