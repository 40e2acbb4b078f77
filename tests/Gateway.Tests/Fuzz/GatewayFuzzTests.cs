using System.Text;
using Microsoft.Extensions.Logging.Abstractions;
using Microsoft.Extensions.Options;
using Microsoft.Extensions.Time.Testing;
using PavementWatch.Core.Readings;
using PavementWatch.Gateway.Buses;
using PavementWatch.Gateway.Enrolment;
using PavementWatch.Gateway.Outbox;
using PavementWatch.Gateway.Sensors;
using PavementWatch.Gateway.Sensors.Ds18b20;
using PavementWatch.Gateway.Sensors.Ds3231;
using PavementWatch.Gateway.Settings;
using PavementWatch.Gateway.Simulation;
using PavementWatch.Gateway.Spots;
using PavementWatch.Tests;

namespace PavementWatch.Gateway.Tests.Fuzzing;

/// <summary>What a server or a sensor would never say, said: the gateway refuses it and goes on.</summary>
public sealed class GatewayFuzzTests
{
    private static readonly DateTimeOffset Noon = new(2026, 7, 14, 17, 0, 0, TimeSpan.Zero);

    private static readonly string[] Settings =
    [
        """{"version":"v7","spots":{"quarry-steps":{"surface":"asphalt","emissivityFraction":0.95,"openSkyFraction":0.5,"limitCelsius":46.5}},"estimates":{"quarry-steps":{"surfaceCelsius":51.5,"upperCelsius":55.25,"at":"2026-07-14T17:00:00Z"}}}""",
        """{"version":"v8","spots":{"quarry-steps":{"limitCelsius":50}}}""",
    ];

    private static readonly string[] Replies =
    [
        """{"gateway":"quarry","user":"quarry","password":"secret","brokerHost":"walks.example","brokerPort":8883,"caPem":"","spots":[{"id":"quarry-steps","surface":"asphalt","emissivityFraction":0.95,"limitCelsius":49}]}""",
        """{"gateway":"quarry","user":"quarry","password":"secret","brokerHost":"walks.example","brokerPort":8883}""",
    ];

    [Fact]
    public void Settings_of_the_server_are_taken_or_refused_and_the_spots_stay_sound()
    {
        using var folder = new TemporaryFolder();
        using var settings = new ServerSettings(
            Options.Create(new SpotTable { ["quarry-steps"] = new SpotOptions { Surface = "asphalt" } }),
            new SpotTableValidator(),
            Options.Create(new OutboxOptions { Path = folder["outbox.db"] }),
            TimeProvider.System,
            NullLogger<ServerSettings>.Instance);
        Fuzz.Bytes("settings in use", 0.1, Settings, bytes =>
        {
            settings.Receive(bytes);
            Assert.True(new SpotTableValidator().Validate(null, settings.Spots).Succeeded);
            foreach (var (_, estimate) in settings.Estimates)
                estimate.IsTooHot(49, Noon);
        });
    }

    [Fact]
    public void An_answer_to_enrolment_is_taken_or_refused_with_words() => Fuzz.Bytes("enrolment", 0.1, Replies, bytes =>
    {
        switch (EnrolmentClient.Judge(bytes))
        {
            case EnrolmentOutcome.Enrolled enrolled:
                Assert.True(GatewayId.TryParse(enrolled.Reply.Gateway, out _));
                Assert.NotEmpty(enrolled.Reply.BrokerHost);
                Assert.All(enrolled.Reply.Spots, spot => Assert.True(SpotId.TryParse(spot.Id, out _)));
                break;
            case EnrolmentOutcome.Later later:
                Assert.NotEmpty(later.Reason);
                break;
            case EnrolmentOutcome.Never never:
                Assert.NotEmpty(never.Reason);
                break;
        }
    });

    [Fact]
    public void A_refusal_of_enrolment_says_what_it_can() => Fuzz.Bytes(
        "refusal", 0.03, ["""{"type":"about:blank","title":"Gone","status":410,"detail":"this code has expired"}""", """{"detail":7}"""],
        bytes => Assert.NotNull(EnrolmentClient.DetailOf(bytes)));

    [Theory]
    [InlineData("Mlx90614")]
    [InlineData("Sht3x")]
    [InlineData("Sht4x")]
    [InlineData("Shtc3")]
    [InlineData("Bme280")]
    [InlineData("Bh1750")]
    [InlineData("Ina219")]
    public void Noise_on_the_bus_is_refused_or_read_as_something_that_can_be(string name)
    {
        var kind = Enum.Parse<ProbeKind>(name);
        var table = new ProbeTable { ["2"] = new ProbeOptions { Kind = kind, Spot = kind == ProbeKind.Mlx90614 ? "quarry-steps" : null } };
        var spots = new SpotTable { ["quarry-steps"] = new SpotOptions { Surface = "asphalt" } };
        using var buses = SimulatedBuses.For(table, spots, new SimulatedWorld((_, _) => new TrueValues(50, 30, 40, 10), TimeProvider.System));
        using var metrics = new SensorMetrics();
        using var probes = new ProbeSet(Options.Create(table), buses, metrics, NullLogger<ProbeSet>.Instance);
        var random = Fuzz.Source($"frames of {kind}");
        var damage = 0;
        buses.Simulated(1).Fault = (_, _, bytes) =>
        {
            for (var i = 0; i < bytes.Length; i++)
            {
                if (random.Next(100) < damage)
                    bytes[i] = (byte)random.Next(256);
            }
        };
        foreach (var _ in Fuzz.Rounds($"frames of {kind}", 0.01))
        {
            damage = random.Next(4) switch { 0 => 0, 1 => 100, _ => random.Next(40) };
            ReadOutcome? outcome = null;
            Fuzz.Bounded($"frames of {kind}", 0, () => outcome = Assert.Single(probes.SampleAll(Noon)).Outcome, () => $"with {damage} % of the bytes damaged");
            if (outcome is ReadOutcome.Measured { Values: var values })
                Assert.All<double?>([values.ApparentCelsius, values.AirCelsius, values.HumidityPercent, values.SensorCelsius, values.LightLux], value => Assert.True(value is null || double.IsFinite(value.Value)));
            else
                Assert.NotEmpty(Assert.IsType<ReadOutcome.Rejected>(outcome).Detail);
        }
    }

    [Fact]
    public void A_file_of_the_one_wire_bus_is_read_or_refused() => Fuzz.Texts(
        "files of Ds18b20", 0.03,
        [SimulatedDs18b20.File(31.5), SimulatedDs18b20.File(-12.0625), "70 01 4b 46 7f ff 10 10 e1 : crc=e1 YES\n70 01 4b 46 7f ff 10 10 e1 t=23000\n"],
        text =>
        {
            switch (Ds18b20Sensor.Parse(text))
            {
                case ReadOutcome.Measured { Values.ContactCelsius: var celsius }:
                    Assert.InRange(celsius!.Value, -55, 125);
                    break;
                case ReadOutcome.Rejected rejected:
                    Assert.NotEmpty(rejected.Detail);
                    break;
            }
        });

    [Fact]
    public void Bytes_that_pass_for_a_thermometers_are_read_or_refused()
    {
        var random = Fuzz.Source("bytes of Ds18b20");
        var bytes = new byte[9];
        foreach (var _ in Fuzz.Rounds("bytes of Ds18b20", 0.01))
        {
            random.NextBytes(bytes);
            bytes[8] = Crc8.Maxim(bytes.AsSpan(0, 8));
            var text = SimulatedDs18b20.File(bytes);
            Fuzz.Bounded("bytes of Ds18b20", text.Length, () =>
            {
                if (Ds18b20Sensor.Parse(text) is ReadOutcome.Measured { Values.ContactCelsius: var celsius })
                    Assert.InRange(celsius!.Value, -55, 125);
            }, () => text);
        }
    }

    [Fact]
    public void Noise_of_the_clock_chip_is_refused_or_a_moment_of_this_century()
    {
        var time = new FakeTimeProvider(Noon);
        using var bus = new SimulatedI2cBus(1);
        var chip = new SimulatedDs3231(time);
        bus.Attach(Ds3231Clock.FactoryAddress, chip);
        using var clock = new Ds3231Clock(bus.CreateDevice(Ds3231Clock.FactoryAddress));
        clock.Set(Noon);
        var random = Fuzz.Source("registers of Ds3231");
        var damage = 0;
        bus.Fault = (_, _, bytes) =>
        {
            for (var i = 0; i < bytes.Length; i++)
            {
                if (random.Next(100) < damage)
                    bytes[i] = (byte)random.Next(256);
            }
        };
        var known = 0;
        foreach (var _ in Fuzz.Rounds("registers of Ds3231", 0.02))
        {
            // What it says is read twice; wrong both times alike it is a chip that is broken, not a cable.
            damage = random.Next(3) == 0 ? random.Next(60) : 0;
            var registers = new byte[7];
            random.NextBytes(registers);
            for (var i = 0; i < registers.Length; i++)
            {
                if (random.Next(8) > 0)
                    registers[i] = (byte)(((random.Next(6) << 4) | random.Next(10)) & (i is 3 ? 0x07 : i is 4 ? 0x37 : i is 5 ? 0x11 : i is 2 ? 0x1F : 0xFF));
            }

            chip.Time = random.Next(4) == 0 ? null : registers;
            Fuzz.Bounded("registers of Ds3231", 0, () =>
            {
                switch (clock.Read())
                {
                    case ClockOutcome.Known moment:
                        known++;
                        Assert.InRange(moment.Utc.Year, 2000, 2099);
                        break;
                    case ClockOutcome.Unknown unknown:
                        Assert.NotEmpty(unknown.Detail);
                        break;
                }
            }, () => Convert.ToBase64String(registers));
        }

        Assert.True(known > 0);
    }

    [Theory]
    [InlineData("""{"gateway":"quarry","user":"quarry","password":"p","brokerHost":"walks.example","brokerPort":8883,"spots":null}""")]
    [InlineData("""{"gateway":"quarry","user":"quarry","password":"p","brokerHost":"walks.example","brokerPort":8883,"spots":[null]}""")]
    [InlineData("""{"gateway":"quarry","user":"quarry","password":"p","brokerHost":null,"brokerPort":8883}""")]
    [InlineData("null")]
    public void An_answer_with_nothing_where_something_belongs_is_refused(string json) =>
        Assert.IsNotType<EnrolmentOutcome.Enrolled>(EnrolmentClient.Judge(Encoding.UTF8.GetBytes(json)));
}
