using Microsoft.Extensions.Configuration;
using Microsoft.Extensions.DependencyInjection;
using Microsoft.Extensions.Options;
using Microsoft.Extensions.Time.Testing;
using PavementWatch.Core.Readings;
using PavementWatch.Gateway.Buses;
using PavementWatch.Gateway.Sampling;
using PavementWatch.Gateway.Sensors;
using PavementWatch.Gateway.Simulation;
using PavementWatch.Gateway.Spots;
using PavementWatch.Tests;

namespace PavementWatch.Gateway.Tests.Sampling;

/// <summary>The whole of it: settings, simulated chips, bindings, samples, readings.</summary>
public sealed class SamplingRoundsTests
{
    private static readonly DateTimeOffset Start = new(2025, 7, 14, 18, 0, 0, TimeSpan.Zero);

    private static readonly Dictionary<string, string?> Town = new()
    {
        ["Spots:plaza:Surface"] = "asphalt",
        ["Spots:plaza:EmissivityFraction"] = "0.93",
        ["Spots:steps:LimitCelsius"] = "52",
        ["Probes:plaza-ir:Kind"] = "Mlx90614",
        ["Probes:plaza-ir:Address"] = "0x5A",
        ["Probes:plaza-ir:Spot"] = "plaza",
        ["Probes:steps-ir:Kind"] = "mlx90614",
        ["Probes:steps-ir:Address"] = "0x5B",
        ["Probes:steps-ir:Spot"] = "steps",
        ["Probes:air:Kind"] = "Sht3x",
    };

    private readonly FakeTimeProvider _clock = new(Start);

    private static TrueValues HotAfternoon(SpotId spot, DateTimeOffset at)
    {
        var minutes = (at - Start).TotalMinutes;
        return spot.Value == "plaza"
            ? new TrueValues(47 + 0.5 * minutes, 33, 38)
            : new TrueValues(41, 33, 38);
    }

    private ServiceProvider Host(Dictionary<string, string?> settings, Func<SpotId, DateTimeOffset, TrueValues>? truth = null)
    {
        var services = new ServiceCollection();
        services.AddSingleton<IConfiguration>(new ConfigurationBuilder().AddInMemoryCollection(settings).Build());
        services.AddLogging();
        services.AddSingleton<IBuses>(s => SimulatedBuses.For(
            s.GetRequiredService<IOptions<ProbeTable>>().Value,
            s.GetRequiredService<IOptions<SpotTable>>().Value,
            new SimulatedWorld(truth ?? HotAfternoon, _clock)));
        services.AddSampling();
        return services.BuildServiceProvider();
    }

    private List<Reading> Run(ISampling sampling, TimeSpan time)
    {
        List<Reading> readings = [];
        for (var end = _clock.GetUtcNow() + time; _clock.GetUtcNow() < end; _clock.Advance(TimeSpan.FromSeconds(5)))
            readings.AddRange(sampling.Step(_clock.GetUtcNow()));
        return readings;
    }

    [Fact]
    public void A_minute_of_the_true_world_comes_out_as_readings_close_to_the_truth()
    {
        using var host = Host(Town);
        var readings = Run(host.GetRequiredService<ISampling>(), TimeSpan.FromMinutes(2));
        Assert.Equal(
            [("plaza", Start.AddMinutes(1)), ("steps", Start.AddMinutes(1))],
            readings.Select(r => (r.Spot.Value, r.MeasuredAt)));
        // Twelve samples from 0 to 55 s, so the middle is at 27.5 s; noise of 0.03 K leaves a few hundredths.
        Published.Near(47 + 0.5 * 27.5 / 60, readings[0].SurfaceCelsius!.Value, 0.06, "by definition: the simulated truth");
        Published.Near(41, readings[1].SurfaceCelsius!.Value, 0.06, "by definition: the simulated truth");
        Assert.All(readings, r =>
        {
            Assert.Equal(ReadingQuality.Good, r.Quality);
            Published.Near(33, r.AirCelsius!.Value, 0.002, "by definition: the simulated truth");
            Published.Near(38, r.HumidityPercent!.Value, 0.001, "by definition: the simulated truth");
        });
    }

    [Fact]
    public void Passing_the_limit_is_told_within_twenty_seconds_and_once()
    {
        using var host = Host(Town);
        var readings = Run(host.GetRequiredService<ISampling>(), TimeSpan.FromMinutes(10));
        var plaza = readings.Where(r => r.Spot.Value == "plaza").ToList();
        var early = Assert.Single(plaza, r => r.MeasuredAt.Second != 0);
        // The truth passes 49 °C four minutes after the start.
        Assert.InRange(early.MeasuredAt - Start, TimeSpan.FromMinutes(4), TimeSpan.FromMinutes(4) + TimeSpan.FromSeconds(20));
        Assert.Equal(plaza.Select(r => r.MeasuredAt).Order().Distinct(), plaza.Select(r => r.MeasuredAt));
    }

    [Fact]
    public void A_clock_that_goes_back_neither_repeats_nor_reorders()
    {
        using var host = Host(Town);
        var sampling = host.GetRequiredService<ISampling>();
        var readings = Run(sampling, TimeSpan.FromMinutes(3));
        for (var i = 0; i < 24; i++)
            readings.AddRange(sampling.Step(Start.AddSeconds(5 * i)));
        readings.AddRange(Run(sampling, TimeSpan.FromMinutes(3)));
        var plaza = readings.Where(r => r.Spot.Value == "plaza").Select(r => r.MeasuredAt).ToList();
        Assert.Equal(plaza.Order().Distinct(), plaza);
        Assert.Contains(Start.AddMinutes(5), plaza);
    }

    [Fact]
    public void After_a_gap_the_open_interval_ends_where_it_was_meant_to()
    {
        using var host = Host(Town);
        var sampling = host.GetRequiredService<ISampling>();
        Run(sampling, TimeSpan.FromSeconds(30));
        _clock.Advance(TimeSpan.FromHours(2));
        var readings = sampling.Step(_clock.GetUtcNow());
        Assert.All(readings, r => Assert.Equal(Start.AddMinutes(1), r.MeasuredAt));
        Assert.Equal(2, readings.Count);
    }

    [Fact]
    public void An_unplugged_probe_makes_its_spot_rejected_and_leaves_the_other_alone_and_it_comes_back()
    {
        using var host = Host(Town);
        var sampling = host.GetRequiredService<ISampling>();
        var bus = ((SimulatedBuses)host.GetRequiredService<IBuses>()).Simulated(1);
        Run(sampling, TimeSpan.FromMinutes(1));
        var chip = Assert.Single(bus.Detach(0x5A));
        Run(sampling, TimeSpan.FromMinutes(1));
        var without = Run(sampling, TimeSpan.FromMinutes(1));
        Assert.Equal(
            [("plaza", ReadingQuality.Rejected), ("steps", ReadingQuality.Good)],
            without.Select(r => (r.Spot.Value, r.Quality)));
        bus.Attach(0x5A, chip);
        Run(sampling, TimeSpan.FromMinutes(1));
        Assert.All(Run(sampling, TimeSpan.FromMinutes(1)), r => Assert.Equal(ReadingQuality.Good, r.Quality));
    }

    [Fact]
    public void A_calibration_is_applied_to_what_the_sensor_sees()
    {
        var settings = new Dictionary<string, string?>(Town)
        {
            ["Spots:steps:EmissivityFraction"] = "1",
            ["Probes:steps-ir:CalibrationGain"] = "1.02",
            ["Probes:steps-ir:CalibrationOffsetKelvin"] = "-0.5",
        };
        using var host = Host(settings);
        var steps = Run(host.GetRequiredService<ISampling>(), TimeSpan.FromMinutes(2)).Single(r => r.Spot.Value == "steps");
        Published.Near(41 * 1.02 - 0.5, steps.SurfaceCelsius!.Value, 0.06, "by definition: gain · reading + offset");
    }

    [Theory]
    [InlineData("Sht3x")]
    [InlineData("Sht4x")]
    [InlineData("Shtc3")]
    [InlineData("Bme280")]
    public void Every_kind_of_probe_gives_its_part_of_the_reading_also_behind_a_multiplexer(string airKind)
    {
        using var host = Host(new Dictionary<string, string?>
        {
            ["Spots:plaza:EmissivityFraction"] = "0.95",
            ["Spots:sand:Surface"] = "sand",
            ["Probes:plaza-ir:Kind"] = "Mlx90614",
            ["Probes:plaza-ir:Spot"] = "plaza",
            ["Probes:plaza-ir:Multiplexer"] = "0x71",
            ["Probes:plaza-ir:Channel"] = "0",
            ["Probes:sand-wire:Kind"] = "Ds18b20",
            ["Probes:sand-wire:Spot"] = "sand",
            ["Probes:air:Kind"] = airKind,
            ["Probes:air:Multiplexer"] = "0x71",
            ["Probes:air:Channel"] = "7",
            ["Probes:light:Kind"] = "Bh1750",
            ["Probes:supply:Kind"] = "Ina219",
        }, (spot, _) => new TrueValues(spot.Value == "plaza" ? 57 : 51.5, 34, 45)
        {
            LightLux = 87_000,
            SupplyVolts = 12.6,
        });
        var readings = Run(host.GetRequiredService<ISampling>(), TimeSpan.FromMinutes(2)).Where(r => r.MeasuredAt == Start.AddMinutes(1)).ToList();
        Assert.Equal(["plaza", "sand"], readings.Select(r => r.Spot.Value));
        Published.Near(57, readings[0].SurfaceCelsius!.Value, 0.06, "by definition: the simulated truth");
        Published.Near(35.5, readings[0].SensorCelsius!.Value, 0.011, "by definition: the simulation's body is 1.5 K over the air");
        Published.Near(51.5, readings[1].SurfaceCelsius!.Value, 0.032, "by definition: the simulated truth, 1/16 °C a step");
        Assert.All(readings, r =>
        {
            Assert.Equal(ReadingQuality.Good, r.Quality);
            Published.Near(34, r.AirCelsius!.Value, 0.002, "by definition: the simulated truth");
            Published.Near(45, r.HumidityPercent!.Value, 0.01, "by definition: the simulated truth");
            Published.Near(87_000, r.LightLux!.Value, 2, "by definition: the simulated truth");
            Published.Near(12.6, r.SupplyVolts!.Value, 0.0021, "by definition: the simulated truth");
        });
    }

    [Theory]
    [InlineData("Probes:plaza-ir:Kind", "None", "Probes:plaza-ir:Kind is not set, expected one of Mlx90614, Sht3x, Sht4x, Shtc3, Bme280, Ds18b20, Bh1750, Ina219")]
    [InlineData("Probes:plaza-ir:Spot", "plazza", "Probes:plaza-ir:Spot is 'plazza', expected one of plaza, steps")]
    [InlineData("Probes:plaza-ir:Address", "0x5B", "Probes: plaza-ir and steps-ir all have bus 1, address 0x5B; give one another address or its own channel of a multiplexer")]
    [InlineData("Probes:plaza-ir:Address", "0x80", "Probes:plaza-ir: The field Address must be between 8 and 119.")]
    [InlineData("Probes:plaza-ir:Channel", "2", "Probes:plaza-ir: Multiplexer and Channel belong together; set both or neither")]
    [InlineData("Probes:air:Kind", "Shtc3", "Probes: air has address 0x70, that of the multiplexer before wired on bus 1; give one of them another")]
    [InlineData("Probes:plaza-ir:Multiplexer", "0x5B", "Probes:plaza-ir: The field Multiplexer must be between 112 and 119.")]
    [InlineData("Probes:steps-ir:Spot", "plaza", "Probes: plaza-ir and steps-ir all watch spot plaza; give each its own spot")]
    [InlineData("Probes:plaza-ir:Adress", "0x5A", "'ErrorOnUnknownConfiguration' was set on the provided BinderOptions, but the following properties were not found on the instance of PavementWatch.Gateway.Sensors.ProbeOptions: 'Adress'")]
    [InlineData("Spots:plaza:Surface", "tarmac", "Spots:plaza:Surface is 'tarmac', expected one of asphalt, concrete-pale, concrete-grey, brick, stone, sand, gravel, soil, grass, artificial-turf, timber-deck, rubber-tile, metal-grate")]
    [InlineData("Spots:plaza:LimitCelsius", "95", "Spots:plaza: The field LimitCelsius must be between 30 and 52.")]
    [InlineData("Spots:plaza:EmissivityFraction", "95", "Spots:plaza: The field EmissivityFraction must be between 0.1 and 1.")]
    [InlineData("Spots:North Gate:Surface", "asphalt", "Spots:North Gate: a spot's name is 1 to 40 of a-z, 0-9 and '-', starting with a letter or digit")]
    public void A_bad_setting_stops_the_start_naming_it(string key, string value, string message)
    {
        using var host = Host(new Dictionary<string, string?>(Town)
        {
            ["Probes:wired:Kind"] = "Ina219",
            ["Probes:wired:Multiplexer"] = "0x70",
            ["Probes:wired:Channel"] = "0",
            [key] = value,
        });
        var fault = Assert.ThrowsAny<Exception>(() => host.GetRequiredService<IStartupValidator>().Validate());
        Assert.Contains(message, fault.Message + fault.InnerException?.Message);
    }
}
