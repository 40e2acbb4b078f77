using System.ComponentModel.DataAnnotations;
using System.Globalization;
using PavementWatch.Core.Alerts;
using PavementWatch.Core.Quantities;
using PavementWatch.Dashboards.Checks;
using PavementWatch.Server.Commands;
using PavementWatch.Server.Setup;
using PavementWatch.Server.Watch;
using PavementWatch.Server.Weather;
using static PavementWatch.Server.Tests.Api.RunningServer;

namespace PavementWatch.Server.Tests.Quantities;

/// <summary>Each way in, whoever brings the number, takes both edges of its range and nothing beyond.</summary>
public sealed class RangesTests
{
    // Refused by the parser, so that no command runs.
    private const string NoGround = "no-such-ground";

    [Fact]
    public void A_spots_numbers()
    {
        Stands(QuantityRanges.Limit, v => SpotStore.Fault(NorthGate with { LimitCelsius = v }));
        Stands(QuantityRanges.ColdLimit, v => SpotStore.Fault(NorthGate with { ColdLimitCelsius = v }));
        Stands(QuantityRanges.SurfaceEmissivity, v => SpotStore.Fault(NorthGate with { EmissivityFraction = v }));
        Stands(QuantityRanges.Radius, v => SpotStore.Fault(NorthGate with { RadiusMeters = v }));
        // Where the place fits no zone that is said after; what is looked at here is the number.
        Stands(QuantityRanges.Latitude, v => Number(SpotStore.Fault(NorthGate with { LatitudeDegrees = v }), "latitude is"));
        Stands(QuantityRanges.Longitude, v => Number(SpotStore.Fault(NorthGate with { LongitudeDegrees = v }), "longitude is"));
    }

    [Fact]
    public void A_check()
    {
        var check = new SpotCheck(NorthGate.Id, Noon, 50);
        Stands(QuantityRanges.Surface, v => SpotCheckRules.Fault(check with { ShownCelsius = v }, Noon, TemperatureUnit.Both)?.ToString());
        Stands(QuantityRanges.ThermometerEmissivity, v => SpotCheckRules.Fault(check with { EmissivityFraction = v }, Noon, TemperatureUnit.Both)?.ToString());
    }

    [Fact]
    public void A_row_of_weather_as_CSV_and_as_JSON()
    {
        foreach (var field in WeatherFields.All)
        {
            Stands(field.Range, v => Fault(WeatherCsv.Read(new StringReader($"time_utc,{field.Column}\n2026-07-14T17:00:00Z,{Text(v)}\n"))));
            // JSON has no NaN.
            Stands(field.Range, v => Fault(WeatherJson.Read($$"""{"rows":[{"at":"2026-07-14T17:00:00Z","{{field.Property}}":{{Text(v)}}}]}""")), nan: false);
        }
    }

    [Fact]
    public void A_row_of_readings()
    {
        foreach (var (column, range) in new[]
        {
            ("surface_celsius", QuantityRanges.Surface), ("air_celsius", QuantityRanges.Air), ("humidity_percent", QuantityRanges.Humidity),
            ("sensor_celsius", QuantityRanges.SensorBody), ("light_lux", QuantityRanges.Light), ("supply_volts", QuantityRanges.Supply),
        })
        {
            Stands(range, v =>
            {
                try
                {
                    Assert.Single(ReadingCsv.Read(new StringReader($"time_utc,{column}\n2026-07-14T17:00:00Z,{Text(v)}\n"), NorthGate.Id));
                    return null;
                }
                catch (IOException refused)
                {
                    return refused.Message;
                }
            });
        }
    }

    [Fact]
    public async Task A_commands_numbers()
    {
        string[] place = ["--latitude", "37.4", "--longitude", "-97"];
        await StandsAsync(QuantityRanges.Limit, v => Spot([.. place, "--limit", v]));
        await StandsAsync(QuantityRanges.ColdLimit, v => Spot([.. place, "--cold-limit", v]));
        await StandsAsync(QuantityRanges.SurfaceEmissivity, v => Spot([.. place, "--emissivity", v]));
        await StandsAsync(QuantityRanges.Radius, v => Spot([.. place, "--radius", v]));
        await StandsAsync(QuantityRanges.Latitude, v => Spot(["--latitude", v, "--longitude", "-97"]));
        await StandsAsync(QuantityRanges.Longitude, v => Spot(["--latitude", "37.4", "--longitude", v]));
        await StandsAsync(QuantityRanges.Surface, v => ["backtest", "nowhere.csv", "--surface", NoGround, .. place, "--limit", v]);
    }

    [Fact]
    public void The_watchs_options_take_what_the_rule_takes()
    {
        Agree(AlertRule.LeastTooHotReadings, AlertRule.MostTooHotReadings, 1, v => new WatchOptions { TooHotReadings = (int)v });
        Agree(AlertRule.LeastSilentIntervals, AlertRule.MostSilentIntervals, 1, v => new WatchOptions { SilentIntervals = (int)v });
        Agree(QuantityRanges.Easing.Least, QuantityRanges.Easing.Most, 0.01, v => new WatchOptions { EasingKelvin = v });
        Agree(QuantityRanges.ColdLimit.Least, QuantityRanges.ColdLimit.Most, 0.01, v => new WatchOptions { ColdLimitCelsius = v });
        Agree(1, 3600, 1, v => new WatchOptions { Interval = TimeSpan.FromSeconds(v) });
        Agree(0, 120, 1, v => new WatchOptions { ClearAfter = TimeSpan.FromMinutes(v) });
        Agree(0, 240, 1, v => new WatchOptions { AllClearHolds = TimeSpan.FromMinutes(v) });
        Agree(0, 720, 1, v => new WatchOptions { AllClearQuiet = TimeSpan.FromMinutes(v) });
        Agree(0, 180, 1, v => new WatchOptions { RisingLead = TimeSpan.FromMinutes(v) });
    }

    private static void Agree(double least, double most, double step, Func<double, WatchOptions> make)
    {
        foreach (var (value, inside) in new[] { (least, true), (most, true), (least - step, false), (most + step, false) })
        {
            var options = make(value);
            Assert.Equal(inside, Validator.TryValidateObject(options, new ValidationContext(options), null, validateAllProperties: true));
            if (inside)
                options.Rule(NorthGate);
            else
                Assert.Throws<ArgumentOutOfRangeException>(() => options.Rule(NorthGate));
        }
    }

    private static string[] Spot(string[] said) =>
        ["spot", "add", "x", "--name", "X", "--surface", NoGround, "--time-zone", "America/Chicago", .. said];

    private static void Stands(QuantityRange range, Func<double, string?> fault, bool nan = true)
    {
        Assert.Null(fault(range.Least));
        Assert.Null(fault(range.Most));
        foreach (var outside in (double[])[Math.BitDecrement(range.Least), Math.BitIncrement(range.Most), .. nan ? (double[])[double.NaN] : []])
            Assert.Matches($"expected (a number from )?{System.Text.RegularExpressions.Regex.Escape(range.ToString())}", fault(outside));
    }

    private static async Task StandsAsync(QuantityRange range, Func<string, string[]> command)
    {
        foreach (var inside in (double[])[range.Least, range.Most])
            Assert.DoesNotContain("expected a number", await FaultsAsync(command(Text(inside))), StringComparison.Ordinal);
        foreach (var outside in (double[])[Math.BitDecrement(range.Least), Math.BitIncrement(range.Most), double.NaN])
            Assert.Contains($"is '{Text(outside)}', expected a number from {range}", await FaultsAsync(command(Text(outside))), StringComparison.Ordinal);
    }

    private static async Task<string> FaultsAsync(string[] args)
    {
        using var output = new StringWriter();
        using var error = new StringWriter();
        await CommandLine.RunAsync(args, output, error);
        return error.ToString();
    }

    private static string? Fault(WeatherFileOutcome outcome) => (outcome as WeatherFault)?.ToString();

    private static string? Number(string? fault, string begins) =>
        fault is not null && fault.StartsWith(begins, StringComparison.Ordinal) && fault.Contains("degrees", StringComparison.Ordinal) ? fault : null;

    private static string Text(double value) => value.ToString("R", CultureInfo.InvariantCulture);
}
