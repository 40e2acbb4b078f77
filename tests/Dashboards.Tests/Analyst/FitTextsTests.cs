using PavementWatch.Core.Offsets;
using PavementWatch.Dashboards.Analyst;
using PavementWatch.Dashboards.Tests.Hosting;

namespace PavementWatch.Dashboards.Tests.Analyst;

/// <summary>Fits in plain words.</summary>
public class FitTextsTests
{
    [Theory]
    [InlineData(OffsetInputs.AirOnly, "The fit in use looks at the air.")]
    [InlineData(OffsetInputs.Humidity, "The fit in use looks at the air and its humidity.")]
    [InlineData(OffsetInputs.All, "The fit in use looks at the air, its humidity, a station’s wind and a station’s sun.")]
    public void Inputs_of_the_richest_part_are_told(OffsetInputs inputs, string sentence)
    {
        var prior = new OffsetModel(new OffsetOptions()).Prior(Ferngate.Place(Ferngate.Spots(Ferngate.Now)[0]), Ferngate.Now);
        var fit = prior with { SampleCount = 500, Parts = [prior.Parts[^1] with { Inputs = inputs }, prior.Parts[^1]] };
        Assert.Equal(sentence, FitTexts.Inputs(fit));
        // The handbook has looked at nothing here, whatever it could use.
        Assert.Equal("No fit on readings is in use yet.", FitTexts.Inputs(prior));
        Assert.Equal("No fit on readings is in use yet.", FitTexts.Inputs(null));
    }

    [Theory]
    [InlineData(null, null, "wind and no measured sun are")]
    [InlineData(2.0, null, "measured sun is")]
    [InlineData(null, 700.0, "wind is")]
    [InlineData(2.0, 700.0, "")]
    public void What_no_station_measured_beside_any_residual_is_missing(double? wind, double? sun, string words)
    {
        ResidualPoint bare = new(Ferngate.Now, 0, 12, 40, 30, Learned: false);
        Assert.Equal(words, FitTexts.Missing([bare, bare with { WindMetersPerSecond = wind }, bare with { SolarWattsPerSquareMeter = sun }]));
    }
}
