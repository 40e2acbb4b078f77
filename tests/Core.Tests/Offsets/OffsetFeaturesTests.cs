using System.Security.Cryptography;
using System.Text;
using PavementWatch.Core.Offsets;
using PavementWatch.Core.Readings;
using PavementWatch.Core.Surfaces;
using PavementWatch.Core.Weather;
using PavementWatch.Tests;

namespace PavementWatch.Core.Tests.Offsets;

/// <summary>A feature's name says what its value is, and the order of both is that of a stored fit's coefficients.</summary>
public sealed class OffsetFeaturesTests
{
    private const string Scales = "By definition: the scale that stands beside the name";

    private static readonly DateTimeOffset Start = new(2026, 7, 14, 6, 0, 0, TimeSpan.Zero);

    [Theory]
    [InlineData(OffsetInputs.AirOnly, 48, "14DC2A6A78FE5246")]
    [InlineData(OffsetInputs.Humidity, 73, "E276362C6A979F75")]
    [InlineData(OffsetInputs.Wind, 58, "94272D0C3A89A0A8")]
    [InlineData(OffsetInputs.Solar, 75, "B75D2D6346B66583")]
    [InlineData(OffsetInputs.All, 110, "6A1DF8491C41D7A7")]
    public void Names_and_their_order_belong_to_the_edition(OffsetInputs inputs, int count, string hash)
    {
        var names = OffsetFeatures.Of(inputs).Select(f => f.Name).ToList();
        // Written down apart from the code, in Python. Where they are to change, the edition does, and then this.
        Assert.Equal((3, count), (OffsetFeatures.Edition, names.Count));
        Assert.Equal(names.Count, names.Distinct().Count());
        Assert.Equal(hash, Convert.ToHexString(SHA256.HashData(Encoding.UTF8.GetBytes(string.Join('\n', names))))[..16]);
    }

    [Fact]
    public void Each_value_is_that_of_its_name()
    {
        var values = Look(OffsetInputs.All);

        foreach (var (name, expected) in new[]
        {
            ("level", 1.0), ("sun", 0.5), ("sun, 3 h", 0.5), ("sun, 9 h", 0.5), ("sun, kind's lag", 0.5), ("air", 1), ("restless air", 0), ("calm rise by sun", 0),
            ("air, 3 h", 0), ("air, 168 h", 0), ("air, 48 h, cos 1", 0), ("rise, sin 1", 0), ("humidity", 1), ("humidity, 12 h", 1), ("wind", 0.5), ("wind by sun", 0.25),
        })
            Published.Near(expected, values[name], 1e-9, $"{Scales}: {name}");
        foreach (var name in new[] { "air", "humidity", "humidity, 12 h" })
            Published.Near(values[name] * values["clear sun"], values[name.Contains(',', StringComparison.Ordinal) ? $"{name}, by sun" : $"{name} by sun"], 1e-9, "By definition: times the clear sun");
        Published.Near(0.5 * values["clear sun"] / 2, values["sun by clear sun"], 1e-9, Scales);
        foreach (var (name, value) in new[] { ("hour", 1), ("humidity", 1), ("wind", 0.5), ("beam", values["beam"]), ("sun, 2 h", 0.5) })
            Published.Near(value * value, Math.Pow(values[$"{name}, sin 3"], 2) + Math.Pow(values[$"{name}, cos 3"], 2), 1e-9, "By definition: sin² + cos² = 1");
    }

    [Fact]
    public void What_is_not_asked_for_is_not_looked_at()
    {
        var (all, air) = (Look(OffsetInputs.All), Look(OffsetInputs.AirOnly));

        Assert.Equal(all["air by sun"], air["air by sun"]);
        // Without measured sun a clear sky stands in.
        Assert.Equal(all["clear sun"], air["sun"]);
        Assert.False(air.ContainsKey("wind"));
    }

    /// <summary>Noon of the fifth day of 25 °C, 87.5 %, 4 m/s and 250 W/m², all the time.</summary>
    private static Dictionary<string, double> Look(OffsetInputs inputs)
    {
        var spot = new Spot(SpotId.Parse("plaza"), "Plaza", SurfaceKind.Asphalt, 37.4, -97.0, "America/Chicago");
        WeatherSample[] samples =
        [
            .. Enumerable.Range(1, 48 * 5).Select(i => new WeatherSample(Start.AddMinutes(30 * i), 25)
            {
                HumidityPercent = 87.5,
                WindMetersPerSecond = 4,
                SolarWattsPerSquareMeter = 250,
            }),
        ];
        var sky = new SkyAndAir(WeatherGrid.Make(spot, new WeatherStretch(samples, 0, samples.Length), 30, samples[^1].At), spot.Surface, null);
        var features = OffsetFeatures.Of(inputs);
        var noon = (48 * 4) + 24;
        var row = OffsetFeatures.Rows(sky, spot.Surface, inputs)[noon]!;
        Assert.Equal(features.Count, row.Length);
        // One place too few would be noticed; so would one too many, as it stays what it was.
        var filled = Enumerable.Repeat(double.NaN, features.Count).ToArray();
        OffsetFeatures.Fill(filled, sky, HandbookPrior.Of(spot.Surface), inputs, noon);
        Assert.Equal(row, filled);
        return features.Select((f, i) => (f.Name, Value: row[i])).ToDictionary(f => f.Name, f => f.Value);
    }
}
