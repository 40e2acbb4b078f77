using PavementWatch.Core.Quantities;
using PavementWatch.Core.Surfaces;
using PavementWatch.Gateway.Spots;

namespace PavementWatch.Gateway.Tests.Spots;

/// <summary>A spot's settings at the gateway take what the server may set.</summary>
public sealed class SpotOptionsTests
{
    [Fact]
    public void Each_number_is_held_to_the_edges_of_its_range()
    {
        Stands(QuantityRanges.Limit, celsius => new SpotOptions { LimitCelsius = celsius }, nameof(SpotOptions.LimitCelsius));
        Stands(QuantityRanges.SurfaceEmissivity, fraction => new SpotOptions { EmissivityFraction = fraction }, nameof(SpotOptions.EmissivityFraction));
        Stands(QuantityRanges.OpenSky, fraction => new SpotOptions { OpenSkyFraction = fraction }, nameof(SpotOptions.OpenSkyFraction));
    }

    [Fact]
    public void The_open_sky_is_the_one_that_readings_are_doubted_and_checked_by() =>
        Assert.Equal(ReflectedSky.UsualOpenSkyFraction, new SpotOptions().OpenSkyFraction);

    private static void Stands(QuantityRange range, Func<double, SpotOptions> make, string name)
    {
        Assert.Null(Fault(make(range.Least)));
        Assert.Null(Fault(make(range.Most)));
        foreach (var outside in (double[])[Math.BitDecrement(range.Least), Math.BitIncrement(range.Most), double.NaN])
            Assert.Contains($"{name} must be between {range.Least} and {range.Most}", Fault(make(outside)), StringComparison.Ordinal);
    }

    private static string? Fault(SpotOptions options) =>
        new SpotTableValidator().Validate(null, new SpotTable { ["north-gate-plaza"] = options }).FailureMessage;
}
