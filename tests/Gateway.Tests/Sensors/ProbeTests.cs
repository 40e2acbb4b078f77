using System.Diagnostics.Metrics;
using Microsoft.Extensions.Logging;
using PavementWatch.Gateway.Buses;
using PavementWatch.Gateway.Sensors;
using PavementWatch.Gateway.Simulation;

namespace PavementWatch.Gateway.Tests.Sensors;

public sealed class ProbeTests
{
    [Fact]
    public void A_failing_probe_is_logged_once_and_once_more_when_it_is_back_and_every_failure_is_counted()
    {
        var log = new Lines();
        using var bench = new Bench(ProbeKind.Mlx90614, 0x5A, new SimulatedMlx90614(0x5A, () => (58, 31)), log);
        var counted = new List<string>();
        using var listener = new MeterListener();
        listener.InstrumentPublished = (instrument, l) =>
        {
            if (instrument.Name == "pavementwatch.samples.rejected")
                l.EnableMeasurementEvents(instrument);
        };
        listener.SetMeasurementEventCallback<long>((_, value, tags, _) =>
        {
            lock (counted)
                counted.Add($"{value} {string.Join(' ', tags.ToArray().Select(t => $"{t.Key}={t.Value}"))}");
        });
        listener.Start();

        bench.Measured();
        var chip = Assert.Single(bench.Bus.Detach(0x5A));
        for (var i = 0; i < 5; i++)
            bench.Rejected();
        bench.Bus.Attach(0x5A, chip);
        bench.Measured();
        bench.Measured();

        Assert.Equal(
            [
                "Warning: probe 2, MLX90614: no answer at bus 1, address 0x5A; check that it is plugged in, powered, and set to that address",
                "Information: probe 2 is back after 5 failed samples",
            ],
            log.Written);
        // Other tests count at the same time; ours are among them.
        lock (counted)
            Assert.True(counted.Count(c => c == "1 kind=Mlx90614 reason=NoAnswer") >= 5);
    }

    [Theory]
    [InlineData(60.01, "probe 2, SHT3x: air is 60.01 °C, expected -60 to 60 °C; look whether its housing stands in the sun or is closed, else replace it")]
    [InlineData(59.99, null)]
    public void An_air_probe_that_says_what_air_never_is_is_at_fault(double air, string? fault)
    {
        using var bench = new Bench(ProbeKind.Sht3x, 0x44, new SimulatedSht3x(() => (air, 20)));
        if (fault is null)
            Assert.Equal(air, bench.Measured().AirCelsius!.Value, 2);
        else
            bench.Rejected(RejectReason.OutOfRange, fault);
    }

    private sealed class Lines : ILogger<ProbeSet>
    {
        public List<string> Written { get; } = [];

        public IDisposable? BeginScope<TState>(TState state)
            where TState : notnull => null;

        public bool IsEnabled(LogLevel logLevel) => true;

        public void Log<TState>(
            LogLevel logLevel, EventId eventId, TState state, Exception? exception, Func<TState, Exception?, string> formatter) =>
            Written.Add($"{logLevel}: {formatter(state, exception)}");
    }
}
