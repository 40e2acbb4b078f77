using Microsoft.Extensions.Logging.Abstractions;
using Microsoft.Extensions.Options;
using Microsoft.Extensions.Time.Testing;
using PavementWatch.Gateway.Sensors;
using PavementWatch.Gateway.Simulation;
using PavementWatch.Gateway.Sizing;
using PavementWatch.Gateway.Spots;

namespace PavementWatch.Gateway.Tests.Sizing;

/// <summary>Calibrates on simulated buses, with a person who presses Enter and changes the target each time.</summary>
public sealed class CalibrationSessionTests
{
    private readonly FakeTimeProvider _clock = new(new DateTimeOffset(2026, 4, 11, 9, 0, 0, TimeSpan.Zero));

    private static readonly SpotTable Spots = new() { ["plaza"] = new SpotOptions { EmissivityFraction = 0.95 } };

    [Fact]
    public async Task Both_targets_are_measured_and_the_present_calibration_is_taken_out()
    {
        var run = await RunAsync([0, 55], new(), "--emissivity", "0.95", "0.95");
        Assert.Equal((0, ""), (run.ExitCode, run.Error));
        Assert.Contains("  2 min to go, 12 pairs of samples\n", run.Output, StringComparison.Ordinal);
        Assert.Contains("36 pairs: thermometer 0.00 °C", run.Output, StringComparison.Ordinal);
        Assert.Contains("36 pairs: thermometer 55.00 °C", run.Output, StringComparison.Ordinal);
        // The simulated sensor is right, so what the settings change must come out again: gain 1, offset 0.
        Assert.Matches(@"""plaza-ir"": \{ ""CalibrationGain"": (0\.999|1\.000)\d, ""CalibrationOffsetKelvin"": -?0\.0\d \}", run.Output);
    }

    [Fact]
    public async Task A_plate_that_cools_too_fast_is_refused()
    {
        var run = await RunAsync([0, 55], new() { KelvinPerMinute = -1 }, "--emissivity", "0.95", "0.95");
        Assert.Equal(1, run.ExitCode);
        Assert.Contains("not calibrated: warm plate: the target still changes by", run.Error, StringComparison.Ordinal);
    }

    [Fact]
    public async Task A_silent_thermometer_is_named()
    {
        var run = await RunAsync([0, 55], new() { Unplug = true });
        Assert.Equal(1, run.ExitCode);
        Assert.Contains("only 0 pairs of samples", run.Error, StringComparison.Ordinal);
        Assert.Contains("probe plate, DS18B20", run.Error, StringComparison.Ordinal);
    }

    [Fact]
    public async Task Without_a_person_it_ends()
    {
        var run = await RunAsync([], new());
        Assert.Equal(1, run.ExitCode);
        Assert.Contains("nobody pressed Enter", run.Error, StringComparison.Ordinal);
    }

    [Theory]
    [InlineData("plate", "plate", "--probe is 'plate', expected plaza-ir")]
    [InlineData("plaza-ir", "oven", "--thermometer is 'oven', expected plate")]
    public async Task A_wrong_name_is_answered_with_the_right_ones(string probe, string thermometer, string message)
    {
        var run = await RunAsync([0, 55], new() { Probe = probe, Thermometer = thermometer });
        Assert.Equal(2, run.ExitCode);
        Assert.Contains(message, run.Error, StringComparison.Ordinal);
    }

    private async Task<CommandRun> RunAsync(double[] targets, Circumstances how, params string[] more)
    {
        var table = new ProbeTable
        {
            ["plaza-ir"] = new() { Kind = ProbeKind.Mlx90614, Spot = "plaza", CalibrationGain = 0.98, CalibrationOffsetKelvin = 0.8 },
            ["plate"] = new() { Kind = ProbeKind.Ds18b20, Device = "28-0316a2795b1c", Spot = "plaza" },
        };
        var person = new Person(targets, _clock);
        var world = new SimulatedWorld((_, now) => new TrueValues(person.TargetCelsius(now, how.KelvinPerMinute), 22, 45, 22), _clock);
        using var buses = SimulatedBuses.For(table, Spots, world);
        if (how.Unplug)
            buses.RemoveOneWire("28-0316a2795b1c");
        using var metrics = new SensorMetrics();
        var verb = CalibrateCommand.Create(
            _ => new CalibrationBench(table, new ProbeSet(Options.Create(table), buses, metrics, NullLogger<ProbeSet>.Instance), _clock), person);
        var running = CommandRun.OfAsync([verb], ["calibrate", "--probe", how.Probe, "--thermometer", how.Thermometer, .. more]);
        while (!running.IsCompleted)
        {
            _clock.Advance(TimeSpan.FromSeconds(5));
            await Task.Yield();
        }

        return await running;
    }

    private sealed record Circumstances
    {
        public double KelvinPerMinute { get; init; }

        public bool Unplug { get; init; }

        public string Probe { get; init; } = "plaza-ir";

        public string Thermometer { get; init; } = "plate";
    }

    /// <summary>Puts both sensors to the next target and presses Enter, until there is none left.</summary>
    private sealed class Person(double[] targets, TimeProvider clock) : TextReader
    {
        private int _pressed;
        private DateTimeOffset _since;

        public double TargetCelsius(DateTimeOffset now, double kelvinPerMinute)
        {
            var target = _pressed == 0 ? 22 : targets[_pressed - 1];
            return target > 10 ? target + kelvinPerMinute * (now - _since).TotalMinutes : target;
        }

        public override ValueTask<string?> ReadLineAsync(CancellationToken cancellationToken)
        {
            if (_pressed == targets.Length)
                return ValueTask.FromResult<string?>(null);
            _since = clock.GetUtcNow();
            _pressed++;
            return ValueTask.FromResult<string?>("");
        }
    }
}
