using Microsoft.Extensions.DependencyInjection;
using Microsoft.Extensions.Time.Testing;
using PavementWatch.Core.Readings;
using PavementWatch.Core.Wire;
using PavementWatch.Gateway.Gpio;
using PavementWatch.Gateway.Publishing;
using PavementWatch.Gateway.Sampling;
using PavementWatch.Gateway.Settings;
using PavementWatch.Gateway.Simulation;
using PavementWatch.Gateway.Tests.Outbox;
using PavementWatch.Gateway.Tests.Publishing;

namespace PavementWatch.Gateway.Tests.Sampling;

/// <summary>An air probe in a housing that the sun has heated, beside a good infrared sensor over hot ground.</summary>
public sealed class BadAirTests : IDisposable
{
    private readonly TemporaryFolder _folder = new();
    private readonly FakeTimeProvider _time = new(Some.Noon);

    public void Dispose() => _folder.Dispose();

    [Fact]
    public async Task Hot_ground_is_kept_the_lamp_is_on_and_the_air_probe_is_named()
    {
        // Nobody listens on this port: what concerns the gateway alone needs no network.
        await using var gateway = new TestGateway(_folder["."], port: 9, _time) { World = _ => new TrueValues(63, 61.2, 12, -10) };
        await gateway.StartAsync();
        await gateway.SampleAsync(_time, TimeSpan.FromMinutes(3));

        var readings = gateway.Outbox.Peek(100).Select(entry => entry.Reading).ToList();
        Assert.InRange(readings.Count, 3, 4);
        Assert.All(readings, reading =>
        {
            Assert.Equal((ReadingQuality.Good, Doubt.None, null, null), (reading.Quality, reading.Doubt, reading.AirCelsius, reading.HumidityPercent));
            // What is reflected is reckoned from the sensor's own body, which is hot, too.
            Assert.InRange(reading.SurfaceCelsius!.Value, 60, 65);
        });
        Assert.Equal(
            LampSignal.TooHot,
            LampRule.Signal(
                gateway.Services.GetRequiredService<ServerSettings>().Spots, gateway.Services.GetRequiredService<LatestReadings>(),
                new Dictionary<string, SpotEstimate>(), _time.GetUtcNow(), TimeSpan.FromMinutes(1), TimeSpan.FromMinutes(3)));

        var report = GatewayReport.TryRead(gateway.Services.GetRequiredService<StatusReporter>().Write())!;
        var (probe, fault) = Assert.Single(report.ProbeFaults!);
        Assert.Equal("air", probe);
        Assert.StartsWith("probe air, SHT3x: air is 61.2", fault, StringComparison.Ordinal);
    }
}
