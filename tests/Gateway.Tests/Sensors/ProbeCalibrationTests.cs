using PavementWatch.Gateway.Sensors;
using PavementWatch.Gateway.Simulation;
using PavementWatch.Tests;

namespace PavementWatch.Gateway.Tests.Sensors;

public sealed class ProbeCalibrationTests
{
    [Fact]
    public void Gain_and_offset_of_the_settings_correct_the_object_but_not_the_body()
    {
        var options = new ProbeOptions { Kind = ProbeKind.Mlx90614, Address = 0x5A, Spot = "plaza", CalibrationGain = 1.02, CalibrationOffsetKelvin = -0.5 };
        using var bench = new Bench(options);
        bench.Bus.Attach(0x5A, new SimulatedMlx90614(0x5A, () => (50.0, 30.0)));
        var values = bench.Measured();
        Published.Near(50.5, values.ApparentCelsius!.Value, 0.012, "worked by hand: 1.02 · 50 − 0.5; resolution 0.02 K");
        Published.Near(30, values.SensorCelsius!.Value, 0.011, "by definition: left alone; resolution 0.02 K");
    }
}
