using Microsoft.Extensions.DependencyInjection;
using Microsoft.Extensions.Time.Testing;
using PavementWatch.Core.Readings;
using PavementWatch.Core.Wire;
using PavementWatch.Gateway.Settings;
using PavementWatch.Gateway.Simulation;
using PavementWatch.Gateway.Tests.Outbox;
using PavementWatch.Gateway.Tests.Publishing;
using PavementWatch.Tests;

namespace PavementWatch.Gateway.Tests.Settings;

/// <summary>An hour of sampling, with a message of the server 40 s into each minute: what it says of one spot leaves the others alone.</summary>
public sealed class SamplingAcrossSettingsTests : IAsyncLifetime
{
    private const string Topic = "pavement/v1/quarry/settings";
    private static readonly DateTimeOffset LastMinute = Some.Noon.AddMinutes(59);

    private readonly TemporaryFolder _folder = new();
    private readonly FakeTimeProvider _time = new(Some.Noon);
    private TestBroker _broker = null!;

    public async ValueTask InitializeAsync() => _broker = await TestBroker.StartAsync();

    public async ValueTask DisposeAsync()
    {
        await _broker.DisposeAsync();
        _folder.Dispose();
    }

    [Fact]
    public async Task Estimates_for_a_silent_spot_cost_a_healthy_one_nothing()
    {
        // Over the limit all the time, so that a sampling begun anew would send in between as well.
        await using var gateway = Gateway(("Spots:quarry-steps:LimitCelsius", "45"));

        var readings = await HourAsync(gateway, minute => Settings("v1", 45, estimateAt: _time.GetUtcNow().AddSeconds(minute)));

        var steps = Of("quarry-steps", readings);
        Assert.All(steps, reading => Assert.Equal((ReadingQuality.Good, Doubt.None), (reading.Quality, reading.Doubt)));
        Assert.Equal(Enumerable.Range(1, 59).Select(minute => Some.Noon.AddMinutes(minute)), OnTheMinute(steps));
        // One early reading when the limit was first passed, and no second one in the hour.
        Assert.Single(steps, reading => reading.MeasuredAt.Second != 0);
    }

    [Fact]
    public async Task What_half_an_hour_has_to_ripen_ripens()
    {
        // A thermometer that says the same to the last digit for half an hour is stuck.
        await using var gateway = Gateway(
            ("Spots:quarry-rim:Surface", "asphalt"), ("Probes:rim:Kind", "Ds18b20"), ("Probes:rim:Spot", "quarry-rim"));

        var readings = await HourAsync(gateway, minute => Settings("v1", 49, estimateAt: _time.GetUtcNow().AddSeconds(minute)));

        var rim = Of("quarry-rim", readings).Where(reading => reading.MeasuredAt.Second == 0).ToList();
        Assert.All(rim.Where(reading => reading.MeasuredAt < Some.Noon.AddMinutes(30)), reading => Assert.Equal(Doubt.None, reading.Doubt));
        Assert.All(rim.Where(reading => reading.MeasuredAt > Some.Noon.AddMinutes(31)), reading => Assert.Equal(Doubt.Stuck, reading.Doubt));
        Assert.Equal(59, rim.Count);
    }

    [Fact]
    public async Task Limit_that_changes_each_minute_touches_neither_its_own_samples_nor_another_spots()
    {
        await using var gateway = Gateway(
            ("Spots:quarry-rim:Surface", "asphalt"), ("Probes:rim:Kind", "Ds18b20"), ("Probes:rim:Spot", "quarry-rim"));
        gateway.World = now => new TrueValues(41 + (Math.Sin((now - Some.Noon).TotalMinutes / 10) * 3), 30, 40, -10);

        var readings = await HourAsync(gateway, minute => Settings($"v{minute}", 47 + (minute % 5), estimateAt: _time.GetUtcNow()));

        foreach (var spot in new[] { "quarry-steps", "quarry-rim" })
        {
            Assert.All(Of(spot, readings), reading => Assert.Equal((spot, ReadingQuality.Good, Doubt.None), (spot, reading.Quality, reading.Doubt)));
            Assert.Equal(Enumerable.Range(1, 59).Select(minute => Some.Noon.AddMinutes(minute)), OnTheMinute(Of(spot, readings)));
        }
    }

    private TestGateway Gateway(params (string, string)[] settings) =>
        new(_folder["."], _broker.Port, _time, [.. settings, ("Spots:quarry-pool:Surface", "sand")]);

    /// <summary>Lets the gateway sample for an hour.</summary>
    /// <returns>What it sent up to the last whole minute.</returns>
    private async Task<List<Reading>> HourAsync(TestGateway gateway, Func<int, GatewaySettings> message)
    {
        var settings = gateway.Services.GetRequiredService<ServerSettings>();
        await gateway.StartAsync();
        await gateway.SampleAsync(_time, TimeSpan.FromSeconds(40));
        for (var minute = 0; minute < 59; minute++)
        {
            var next = message(minute);
            await _broker.PublishAsync(Topic, next.Write());
            await Patience.UntilAsync(
                () => settings.Version == next.Version && settings.Estimates.Values.SequenceEqual(next.Estimates!.Values),
                () => "the message is not heard");
            await gateway.SampleAsync(_time, TimeSpan.FromMinutes(1));
        }
        await _broker.UntilAsync(broker => Of("quarry-steps", broker.Readings).Any(reading => reading.MeasuredAt == LastMinute)
            && broker.Readings.Where(reading => reading.MeasuredAt == LastMinute).Select(reading => reading.Spot).Distinct().Count() >= 2);
        return [.. _broker.Readings];
    }

    private static GatewaySettings Settings(string version, double limitCelsius, DateTimeOffset estimateAt) => new()
    {
        Version = version,
        Spots = new Dictionary<string, SpotSettings> { ["quarry-steps"] = new() { LimitCelsius = limitCelsius } },
        Estimates = new Dictionary<string, SpotEstimate> { ["quarry-pool"] = new(41, 44, estimateAt) },
    };

    private static List<Reading> Of(string spot, IEnumerable<Reading> readings) => [.. readings.Where(reading => reading.Spot.Value == spot)];

    private static IEnumerable<DateTimeOffset> OnTheMinute(IEnumerable<Reading> readings) =>
        readings.Select(reading => reading.MeasuredAt).Where(at => at.Second == 0);
}
