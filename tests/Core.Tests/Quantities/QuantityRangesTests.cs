using System.Reflection;
using PavementWatch.Core.Agreement;
using PavementWatch.Core.Alerts;
using PavementWatch.Core.Offsets;
using PavementWatch.Core.Quantities;
using PavementWatch.Core.Readings;
using PavementWatch.Core.Sun;
using PavementWatch.Core.Surfaces;

namespace PavementWatch.Core.Tests.Quantities;

/// <summary>The one table of what a quantity may be, and who in core refuses by it.</summary>
public sealed class QuantityRangesTests
{
    private static readonly DateTimeOffset Noon = new(2026, 7, 14, 17, 0, 0, TimeSpan.Zero);

    /// <summary>Quantity, least, most, in words.</summary>
    public static TheoryData<string, double, double, string> Table => new()
    {
        { nameof(QuantityRanges.Surface), -60, 120, "-60 to 120 °C" },
        { nameof(QuantityRanges.Air), -60, 60, "-60 to 60 °C" },
        { nameof(QuantityRanges.SensorBody), -40, 125, "-40 to 125 °C" },
        { nameof(QuantityRanges.Humidity), 0, 100, "0 to 100 %" },
        { nameof(QuantityRanges.Light), 0, 200_000, "0 to 200000 lx" },
        { nameof(QuantityRanges.Supply), 0, 60, "0 to 60 V" },
        { nameof(QuantityRanges.Spread), 0, 100, "0 to 100 K" },
        { nameof(QuantityRanges.Wind), 0, 120, "0 to 120 m/s" },
        { nameof(QuantityRanges.Solar), -20, 2000, "-20 to 2000 W/m²" },
        { nameof(QuantityRanges.Rain), 0, 500, "0 to 500 mm" },
        { nameof(QuantityRanges.ColdLimit), 0, 5, "0 to 5 °C" },
        { nameof(QuantityRanges.Limit), 30, 52, "30 to 52 °C" },
        { nameof(QuantityRanges.SurfaceEmissivity), 0.1, 1, "0.1 to 1" },
        { nameof(QuantityRanges.ThermometerEmissivity), 0.1, 1, "0.1 to 1" },
        { nameof(QuantityRanges.ThermometerAccuracy), 0.1, 5, "0.1 to 5 K" },
        { nameof(QuantityRanges.OpenSky), 0, 1, "0 to 1" },
        { nameof(QuantityRanges.Latitude), -90, 90, "-90 to 90 degrees" },
        { nameof(QuantityRanges.Longitude), -180, 180, "-180 to 180 degrees" },
        { nameof(QuantityRanges.Radius), 10, 50_000, "10 to 50000 m" },
        { nameof(QuantityRanges.Easing), 0, 20, "0 to 20 K" },
    };

    [Theory]
    [MemberData(nameof(Table))]
    public void A_range_holds_both_its_edges_and_nothing_beyond(string quantity, double least, double most, string words)
    {
        var range = Range(quantity);
        Assert.True(range.Holds(least) && range.Holds(most) && range.HoldsOrNull(null));
        Assert.False(range.Holds(Math.BitDecrement(least)) || range.Holds(Math.BitIncrement(most)));
        Assert.False(range.Holds(double.NaN) || range.Holds(double.NegativeInfinity) || range.Holds(double.PositiveInfinity));
        Assert.Equal((least, words), (range.Require(least), range.ToString()));
        Assert.Contains($"expected {words}", Assert.Throws<ArgumentOutOfRangeException>(() => range.Require(double.NaN)).Message, StringComparison.Ordinal);
    }

    [Fact]
    public void Each_range_has_its_row() => Assert.Equal(
        typeof(QuantityRanges).GetFields(BindingFlags.Public | BindingFlags.Static).Where(f => !f.IsLiteral).Select(f => f.Name).Order(),
        Table.Select(row => row.Data.Item1).Order());

    [Theory]
    [InlineData(-70.01, "an MLX90614's least word, by its data sheet")]
    [InlineData(-127.0, "a DS18B20 that does not answer, common practice")]
    [InlineData(-273.15, "a word of zeros, by definition")]
    public void What_a_sensor_says_when_it_fails_is_no_temperature_of_ground_or_air(double celsius, string what)
    {
        Assert.False(QuantityRanges.Surface.Holds(celsius), what);
        Assert.False(QuantityRanges.Air.Holds(celsius), what);
    }

    [Theory]
    [InlineData("surface", nameof(QuantityRanges.Surface))]
    [InlineData("air", nameof(QuantityRanges.Air))]
    [InlineData("humidity", nameof(QuantityRanges.Humidity))]
    [InlineData("sensor", nameof(QuantityRanges.SensorBody))]
    [InlineData("light", nameof(QuantityRanges.Light))]
    [InlineData("supply", nameof(QuantityRanges.Supply))]
    [InlineData("spread", nameof(QuantityRanges.Spread))]
    public void A_reading_is_judged_by_the_table(string field, string quantity)
    {
        var range = Range(quantity);
        Assert.Null(ReadingRange.FirstFault(With(field, range.Least)));
        Assert.Null(ReadingRange.FirstFault(With(field, range.Most)));
        Assert.Equal($"{field} is NaN, expected {range}", ReadingRange.FirstFault(With(field, double.NaN))?.ToString());
        Assert.Equal(new FieldFault(field, Math.BitDecrement(range.Least), range), ReadingRange.FirstFault(With(field, Math.BitDecrement(range.Least))));
        Assert.Equal(new FieldFault(field, Math.BitIncrement(range.Most), range), ReadingRange.FirstFault(With(field, Math.BitIncrement(range.Most))));
    }

    [Fact]
    public void Who_takes_a_number_by_hand_refuses_by_the_table()
    {
        Stands(QuantityRanges.Limit, celsius => new AlertRule { LimitCelsius = celsius });
        Stands(QuantityRanges.ColdLimit, celsius => new AlertRule { ColdLimitCelsius = celsius });
        Stands(QuantityRanges.Easing, kelvin => new AlertRule { EasingKelvin = kelvin });
        Stands(QuantityRanges.SurfaceEmissivity, fraction => GreyBody.SurfaceCelsius(50, 20, fraction));
        Stands(QuantityRanges.SurfaceEmissivity, fraction => HandHeldReading.SurfaceCelsius(50, 0.95, fraction, 30, 20));
        Stands(QuantityRanges.ThermometerEmissivity, fraction => HandHeldReading.SurfaceCelsius(50, fraction, 0.95, 30, 20));
        Stands(QuantityRanges.ThermometerAccuracy, kelvin => new AgreementThresholds { ThermometerAccuracyKelvin = kelvin });
        Stands(QuantityRanges.Latitude, degrees => SolarPosition.At(Noon, degrees, 0));
        Stands(QuantityRanges.Longitude, degrees => SolarPosition.At(Noon, 0, degrees));
    }

    [Fact]
    public void The_window_of_a_fit_is_held_to_its_edges()
    {
        foreach (var days in (int[])[3, 120])
            Assert.Equal(TimeSpan.FromDays(days), new OffsetOptions { Window = TimeSpan.FromDays(days) }.Window);
        foreach (var window in (TimeSpan[])[TimeSpan.FromDays(3) - TimeSpan.FromTicks(1), TimeSpan.FromDays(120) + TimeSpan.FromTicks(1)])
        {
            Assert.Contains(
                "expected 3 to 120 days", Assert.Throws<ArgumentOutOfRangeException>(() => new OffsetOptions { Window = window }).Message, StringComparison.Ordinal);
        }
    }

    private static void Stands(QuantityRange range, Func<double, object> make)
    {
        make(range.Least);
        make(range.Most);
        foreach (var outside in (double[])[Math.BitDecrement(range.Least), Math.BitIncrement(range.Most), double.NaN])
            Assert.Contains($"expected {range}", Assert.Throws<ArgumentOutOfRangeException>(() => make(outside)).Message, StringComparison.Ordinal);
    }

    private static QuantityRange Range(string quantity) => (QuantityRange)typeof(QuantityRanges).GetField(quantity)!.GetValue(null)!;

    private static Reading With(string field, double value)
    {
        var reading = new Reading(SpotId.Parse("north-gate-plaza"), Noon);
        return field switch
        {
            "surface" => reading with { SurfaceCelsius = value },
            "air" => reading with { AirCelsius = value },
            "humidity" => reading with { HumidityPercent = value },
            "sensor" => reading with { SensorCelsius = value },
            "light" => reading with { LightLux = value },
            "supply" => reading with { SupplyVolts = value },
            _ => reading with { SpreadKelvin = value },
        };
    }
}
