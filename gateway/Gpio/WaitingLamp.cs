using System.Device.Gpio;
using PavementWatch.Gateway.Buses;

namespace PavementWatch.Gateway.Gpio;

/// <summary>The lamp before the gateway runs: a long flash, then as many short ones as what it waits for has for a number.</summary>
internal sealed class WaitingLamp(IBuses buses, PanelOptions options, TimeProvider time)
{
    private static readonly TimeSpan Tick = TimeSpan.FromMilliseconds(100);
    private static readonly TimeSpan OpenAgainAfter = TimeSpan.FromSeconds(10);

    /// <summary>Blinks until it is cancelled; pins that fail are tried again, for nobody waits for a lamp.</summary>
    /// <param name="flashes">How many short flashes now; none leaves the lamp dark.</param>
    /// <param name="cancellationToken">Ends it.</param>
    public async Task RunAsync(Func<int> flashes, CancellationToken cancellationToken)
    {
        if (options.LampPin is not { } pin)
            return;
        var began = time.GetTimestamp();
        while (!cancellationToken.IsCancellationRequested)
        {
            try
            {
                var pins = buses.Gpio();
                pins.OpenPin(pin, PinMode.Output, Level(false));
                using var timer = new PeriodicTimer(Tick, time);
                while (await timer.WaitForNextTickAsync(cancellationToken))
                    pins.Write(pin, Level(LampPattern.OfWaiting(flashes(), time.GetElapsedTime(began))));
            }
            catch (Exception) when (!cancellationToken.IsCancellationRequested)
            {
                // The journal says what the lamp would; it is tried again.
            }
            catch (OperationCanceledException)
            {
            }
            finally
            {
                buses.CloseGpio();
            }

            await Task.Delay(OpenAgainAfter, time, cancellationToken).ContinueWith(_ => { }, TaskScheduler.Default);
        }
    }

    private PinValue Level(bool lit) => lit != options.LampActiveLow ? PinValue.High : PinValue.Low;
}
