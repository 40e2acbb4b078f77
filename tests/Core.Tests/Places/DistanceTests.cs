using CsCheck;
using PavementWatch.Core.Places;
using PavementWatch.Tests;

namespace PavementWatch.Core.Tests.Places;

public class DistanceTests
{
    private const string Rosetta = "Rosetta Code haversine task, seen in several public tests";
    private const string Computed = "haversine, computed in Python 3.11";

    [Theory]
    //          latitude longitude  latitude longitude  radius        metres               tolerance source
    [InlineData(36.12, -86.67, 33.94, -118.40, 6_372_800, 2_887_259.9506071106, 1e-6, Rosetta)]
    [InlineData(36.12, -86.67, 33.94, -118.40, 6_371_000, 2_886_444.4428380, 1e-6, Rosetta)]
    [InlineData(36.12, -86.67, 33.94, -118.40, 6_371_008.8, 2_886_448.4297649, 1e-6, Computed)]
    [InlineData(40, -74, 41, -74, 6_371_000, 111_194.92664, 5e-6, Computed)]
    [InlineData(40, -74, 41, -74, 6_371_008.8, 111_195.08023, 5e-6, Computed)]
    [InlineData(40, -74, 40.001, -74, 6_371_000, 111.194927, 5e-7, Computed)]
    [InlineData(40, -74, 40, -73.999, 6_371_000, 85.180256, 5e-7, Computed)]
    [InlineData(0, 179.9995, 0, -179.9995, 6_371_000, 111.194927, 5e-7, "haversine across the date line, computed in Python 3.11")]
    [InlineData(0, 0, 0, 180, 6_371_000, 20_015_086.796, 5e-4, Computed)]
    [InlineData(-37.9510334167, 144.4248678889, -37.6528211389, 143.9264955278, 6_371_000, 54_925.432, 5e-4, "Flinders Peak to Buninyong, " + Computed)]
    [InlineData(50.06632, -5.71475, 58.64402, -3.07009, 6_371_000, 968_874.704, 5e-4, "Land's End to John o'Groats, " + Computed)]
    public void Distances_agree_with_published_values(
        double fromLatitude, double fromLongitude, double toLatitude, double toLongitude,
        double radius, double meters, double tolerance, string source) =>
        Published.Near(meters, Distance.Meters(fromLatitude, fromLongitude, toLatitude, toLongitude, radius), tolerance, source);

    [Theory]
    //          ellipsoid, metres
    [InlineData(40, -74, 40.001, -74, 111.034642)]
    [InlineData(40, -74, 40, -73.999, 85.393857)]
    [InlineData(36.12, -86.67, 33.94, -118.40, 2_892_776.957)]
    [InlineData(50.06632, -5.71475, 58.64402, -3.07009, 969_954.166)]
    public void The_sphere_stays_near_the_ellipsoid(
        double fromLatitude, double fromLongitude, double toLatitude, double toLongitude, double meters) =>
        Published.Near(meters, Distance.Meters(fromLatitude, fromLongitude, toLatitude, toLongitude), meters * 0.006,
            "WGS84, Vincenty inverse, computed in Python 3.11");

    [Fact]
    public void A_place_is_nowhere_from_itself_and_as_far_there_as_back() =>
        Gen.Select(Gen.Double[-90, 90], Gen.Double[-180, 180], Gen.Double[-90, 90], Gen.Double[-180, 180]).Sample(
            (lat1, lon1, lat2, lon2) =>
            {
                Assert.Equal(0, Distance.Meters(lat1, lon1, lat1, lon1));
                Assert.Equal(Distance.Meters(lat1, lon1, lat2, lon2), Distance.Meters(lat2, lon2, lat1, lon1), 1e-6);
            },
            iter: 2_000);

    [Theory]
    [InlineData(90.001, 0)]
    [InlineData(-90.001, 0)]
    [InlineData(0, 180.001)]
    [InlineData(0, -180.001)]
    [InlineData(double.NaN, 0)]
    [InlineData(0, double.NaN)]
    public void Angles_out_of_range_are_refused(double latitude, double longitude)
    {
        Assert.Throws<ArgumentOutOfRangeException>(() => Distance.Meters(latitude, longitude, 0, 0));
        Assert.Throws<ArgumentOutOfRangeException>(() => Distance.Meters(0, 0, latitude, longitude));
    }

    [Fact]
    public void Angles_at_the_edges_are_taken() =>
        Published.Near(Math.PI * Distance.MeanEarthRadiusMeters, Distance.Meters(90, 180, -90, -180), 1e-6, "By definition: pole to pole");
}
