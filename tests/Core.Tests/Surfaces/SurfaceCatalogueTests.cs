using PavementWatch.Core.Contact;
using PavementWatch.Core.Surfaces;

namespace PavementWatch.Core.Tests.Surfaces;

public class SurfaceCatalogueTests
{
    public static TheoryData<SurfaceKind> Kinds => [.. SurfaceKinds.All];

    [Theory]
    [MemberData(nameof(Kinds))]
    public void Every_kind_has_each_value_within_its_spread_and_with_its_source(SurfaceKind kind)
    {
        var (of, emissivity, absorptance, effusivity) = SurfaceCatalogue.Of(kind);
        Assert.Equal(kind, of);
        Assert.All([emissivity, absorptance, effusivity], v =>
        {
            Assert.InRange(v.Value, v.Low, v.High);
            Assert.True(v.Source.Length > 10, v.Source);
        });
        Assert.InRange(emissivity.Low, 0.05, 1);
        Assert.InRange(emissivity.High, 0.05, 1);
        Assert.InRange(absorptance.Low, 0, 1);
        Assert.InRange(absorptance.High, 0, 1);
        Assert.InRange(effusivity.Low, 50, 20_000);
    }

    [Theory]
    [InlineData(SurfaceKind.Asphalt, 0.93, "Omega table, asphalt pavement")]
    [InlineData(SurfaceKind.Asphalt, 0.967, "FLIR table 22.1, asphalt paving")]
    [InlineData(SurfaceKind.ConcreteGrey, 0.94, "Omega table, concrete, rough")]
    [InlineData(SurfaceKind.ConcreteGrey, 0.974, "FLIR table 39.1, concrete walkway")]
    [InlineData(SurfaceKind.Brick, 0.93, "Omega table, brick, red, rough")]
    [InlineData(SurfaceKind.Stone, 0.72, "Omega table, basalt")]
    [InlineData(SurfaceKind.Stone, 0.94, "Triplett AM320 manual, marble")]
    [InlineData(SurfaceKind.Sand, 0.90, "pyrometer manual, sand")]
    [InlineData(SurfaceKind.Sand, 0.76, "Ideal Heatseeker 160 manual, sand")]
    [InlineData(SurfaceKind.Soil, 0.95, "Ideal Heatseeker 160 manual, soil, saturated")]
    [InlineData(SurfaceKind.TimberDeck, 0.90, "Ideal Heatseeker 160 manual, planed oak")]
    [InlineData(SurfaceKind.RubberTile, 0.95, "pyrometer manual, rubber")]
    [InlineData(SurfaceKind.MetalGrate, 0.79, "Ideal Heatseeker 160 manual, steel, oxidised")]
    [InlineData(SurfaceKind.MetalGrate, 0.07, "Ideal Heatseeker 160 manual, steel, polished")]
    public void Published_emissivities_lie_in_the_spread(SurfaceKind kind, double emissivity, string source) =>
        Within(emissivity, SurfaceCatalogue.Of(kind).EmissivityFraction, source);

    [Theory]
    //          kind                      albedo
    [InlineData(SurfaceKind.Asphalt, 0.04, "LBNL Heat Island Group, newest asphalt")]
    [InlineData(SurfaceKind.Asphalt, 0.12, "LBNL Heat Island Group, asphalt of five years")]
    [InlineData(SurfaceKind.Asphalt, 0.18, "Yildirim 2013, aged asphalt")]
    [InlineData(SurfaceKind.Asphalt, 0.082, "AMSE 2012, 523051, table 3, As-N")]
    [InlineData(SurfaceKind.ConcreteGrey, 0.294, "AMSE 2012, 523051, table 3, Con-N")]
    [InlineData(SurfaceKind.ConcreteGrey, 0.35, "green-building advice column, new grey concrete")]
    [InlineData(SurfaceKind.ConcretePale, 0.70, "green-building advice column, new white concrete")]
    [InlineData(SurfaceKind.Brick, 0.397, "AMSE 2012, 523051, table 3, Ilb-P")]
    [InlineData(SurfaceKind.Soil, 0.225, "AMSE 2012, 523051, table 3, soil")]
    [InlineData(SurfaceKind.Soil, 0.40, "Sailor et al. 2008, green-roof soil, dry")]
    [InlineData(SurfaceKind.Grass, 0.210, "AMSE 2012, 523051, table 3, grass")]
    public void Published_albedos_lie_in_the_spread(SurfaceKind kind, double albedo, string source) =>
        Within(1 - albedo, SurfaceCatalogue.Of(kind).AbsorptanceFraction, source);

    [Theory]
    //          kind                      k     rho   c
    [InlineData(SurfaceKind.Asphalt, 1.20, 2300, 1700, "CIBSE Guide A, table 3.36, asphalt E")]
    [InlineData(SurfaceKind.Asphalt, 0.50, 1700, 1000, "CIBSE Guide A, table 3.36, asphalt C")]
    [InlineData(SurfaceKind.ConcreteGrey, 1.8, 2400, 1188, "SKAT 1993, solid concrete")]
    [InlineData(SurfaceKind.Stone, 3.5, 2800, 936, "SKAT 1993, granite")]
    [InlineData(SurfaceKind.Sand, 0.7, 1900, 792, "SKAT 1993, sand, dry")]
    [InlineData(SurfaceKind.Gravel, 0.7, 1900, 792, "SKAT 1993, gravel, dry")]
    [InlineData(SurfaceKind.TimberDeck, 0.15, 475, 2178, "SKAT 1993, softwood")]
    [InlineData(SurfaceKind.TimberDeck, 0.20, 700, 2178, "SKAT 1993, hardwood")]
    [InlineData(SurfaceKind.RubberTile, 0.30, 1600, 2000, "CIBSE Guide A, table 3.36, rubber tiles")]
    [InlineData(SurfaceKind.RubberTile, 0.17, 1500, 1470, "CIBSE Guide A, table 3.36, rubber")]
    [InlineData(SurfaceKind.ArtificialTurf, 0.06, 160, 2500, "CIBSE Guide A, table 3.37, synthetic carpet")]
    [InlineData(SurfaceKind.MetalGrate, 45, 7800, 480, "CIBSE Guide A, table 3.36, steel")]
    [InlineData(SurfaceKind.MetalGrate, 16, 8000, 480, "CIBSE Guide A, table 3.36, stainless steel")]
    public void Published_effusivities_lie_in_the_spread(SurfaceKind kind, double k, double rho, double c, string source)
    {
        // The spread is printed in whole units.
        var spread = SurfaceCatalogue.Of(kind).EffusivityWattRootSecondsPerSquareMeterKelvin;
        Assert.True(
            Math.Round(ContactTemperature.Effusivity(k, rho, c)) >= spread.Low
            && Math.Round(ContactTemperature.Effusivity(k, rho, c)) <= spread.High, source);
    }

    [Fact]
    public void An_unknown_surface_is_taken_as_asphalt()
    {
        var unknown = SurfaceCatalogue.Of(SurfaceKind.Unknown);
        Assert.Equal(SurfaceCatalogue.Of(SurfaceKind.Asphalt) with { Kind = SurfaceKind.Unknown }, unknown);
    }

    [Fact]
    public void A_kind_that_does_not_exist_is_refused() =>
        Assert.Throws<ArgumentOutOfRangeException>(() => SurfaceCatalogue.Of((SurfaceKind)99));

    [Fact]
    public void The_names_in_files_are_the_designs() => Assert.Equal(
        [
            "asphalt", "concrete-pale", "concrete-grey", "brick", "stone", "sand", "gravel", "soil", "grass",
            "artificial-turf", "timber-deck", "rubber-tile", "metal-grate",
        ],
        SurfaceKinds.All.Select(SurfaceKinds.Slug));

    [Theory]
    [MemberData(nameof(Kinds))]
    public void A_name_in_a_file_reads_back(SurfaceKind kind)
    {
        Assert.True(SurfaceKinds.TryParse(SurfaceKinds.Slug(kind), out var back));
        Assert.Equal(kind, back);
        Assert.NotEmpty(SurfaceKinds.Name(kind));
    }

    [Theory]
    [InlineData(null)]
    [InlineData("")]
    [InlineData("Asphalt")]
    [InlineData("unknown")]
    [InlineData("tarmac")]
    public void What_is_no_kind_is_not_read(string? slug)
    {
        Assert.False(SurfaceKinds.TryParse(slug, out var kind));
        Assert.Equal(SurfaceKind.Unknown, kind);
    }

    private static void Within(double value, SourcedValue spread, string source)
    {
        if (!(value >= spread.Low - 1e-9 && value <= spread.High + 1e-9))
            Assert.Fail($"{value} is outside {spread.Low} to {spread.High}. Source: {source}");
    }
}
