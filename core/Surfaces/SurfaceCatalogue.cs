namespace PavementWatch.Core.Surfaces;

/// <summary>Handbook values for every kind of surface, each with its spread and source.</summary>
/// <remarks>
/// Tables differ widely: treat an effusivity as ±40 %, and emissivity and absorptance by the spread given. Values
/// said to be from memory or our choice were not found in a source that was opened.
/// </remarks>
public static class SurfaceCatalogue
{
    private const string Omega = "Omega emissivity table, non-metals";
    private const string Flir = "FLIR T10xx manual, table 39.1";
    private const string Manuals = "instrument manuals (Triplett AM320, ProsKit MT-4012)";
    private const string Pyrometer = "pyrometer manual, 8-14 um column";
    private const string Ideal = "Ideal Heatseeker 160 manual, appendix A1";
    private const string HeatIsland = "LBNL Heat Island Group, field albedo of asphalt";
    private const string Yildirim = "Yildirim 2013, albedo of asphalt new and aged";
    private const string Amse = "Advances in Materials Science and Engineering 2012, 523051, table 3";
    private const string Sailor = "Sailor, Hutchinson and Bokovoy 2008, Energy and Buildings 40, 1246";
    private const string Oke = "Oke, Boundary Layer Climates, 2nd ed. 1987, tables 2.1 and 7.4, from memory";
    private const string Cibse = "CIBSE Guide A, table 3.36";
    private const string Skat = "SKAT, Climate Responsive Building 1993, appendix 5.1";
    private const string Memory = "from memory, no source opened";

    private static readonly Dictionary<SurfaceKind, SurfaceProperties> Entries = new[]
    {
        Entry(SurfaceKind.Asphalt,
            new(0.95, 0.90, 0.98, $"{Omega} (0.93); FLIR table 22.1 (0.967); {Manuals} (0.90-0.98)"),
            new(0.88, 0.82, 0.96, $"{HeatIsland} (five years 0.12, newest 0.04); {Yildirim} (aged 0.10-0.18)"),
            new(1205, 922, 2166, $"{Oke}; {Cibse} (922, 2166)")),
        Entry(SurfaceKind.ConcretePale,
            new(0.94, 0.92, 0.974, $"{Omega} (0.94); {Flir} (0.92, walkway 0.974)"),
            new(0.50, 0.30, 0.65, "green-building advice column (new white 0.70, new grey 0.35); in use between them, our choice"),
            new(1785, 1464, 2265, $"{Oke}; IEA material data (1464-2034); {Skat} (2265)")),
        Entry(SurfaceKind.ConcreteGrey,
            new(0.94, 0.92, 0.974, $"{Omega} (0.94); {Flir} (0.92, walkway 0.974)"),
            new(0.70, 0.65, 0.86, $"{Amse} (dry 0.294, porous 0.141); green-building advice column (new grey 0.35)"),
            new(1785, 1464, 2265, $"{Oke}; IEA material data (1464-2034); {Skat} (2265)")),
        Entry(SurfaceKind.Brick,
            new(0.93, 0.75, 0.96, $"{Omega} (0.93); {Manuals} (0.93-0.96, 0.75-0.90)"),
            new(0.65, 0.60, 0.80, $"{Amse} (interlocking block 0.397); red clay 0.20-0.40 {Memory}"),
            new(1065, 639, 1491, $"{Oke}; spread taken as 40 %")),
        Entry(SurfaceKind.Stone,
            new(0.92, 0.72, 0.94, $"{Manuals} (marble 0.90-0.94); {Omega} (basalt 0.72)"),
            new(0.70, 0.60, 0.85, $"albedo 0.15-0.40 {Memory}"),
            new(2220, 2176, 3029, $"{Oke}; {Skat} (sandstone 2176, granite 3029)")),
        Entry(SurfaceKind.Sand,
            new(0.90, 0.76, 0.92, $"{Pyrometer} (0.90); {Ideal} (0.76, all wavelengths)"),
            new(0.60, 0.55, 0.65, $"{Oke} (dry 0.35-0.45)"),
            new(620, 620, 2550, $"{Oke} (dry 620, saturated 2550); {Skat} (1026)")),
        Entry(SurfaceKind.Gravel,
            new(0.92, 0.72, 0.95, "between stone and soil, our choice"),
            new(0.75, 0.60, 0.85, $"between stone and soil, our choice; {Memory}"),
            new(1026, 620, 1436, $"{Skat} (sand and gravel, dry, loose); spread taken as 40 %")),
        Entry(SurfaceKind.Soil,
            new(0.92, 0.92, 0.98, $"{Ideal} (dry 0.92, saturated 0.95); {Sailor} (0.96)"),
            new(0.775, 0.60, 0.96, $"{Amse} (dry 0.225); {Sailor} (dry 0.17-0.40, wet 0.04-0.20)"),
            new(600, 600, 2550, $"{Oke} (clay dry 600, saturated 2210; sandy saturated 2550)")),
        Entry(SurfaceKind.Grass,
            new(0.97, 0.95, 0.98, $"0.95-0.98 {Memory}"),
            new(0.79, 0.74, 0.85, $"{Amse} (0.210); spread {Memory}"),
            new(600, 600, 2210, $"none found for grass; {Oke}, clay soil stands in")),
        Entry(SurfaceKind.ArtificialTurf,
            new(0.95, 0.90, 0.98, $"{Pyrometer} (opaque plastic 0.95); spread our choice"),
            new(0.90, 0.80, 0.95, $"albedo 0.05-0.20 {Memory}"),
            new(155, 93, 980, "CIBSE Guide A, table 3.37 (synthetic carpet stands in); rubber infill up to 980")),
        Entry(SurfaceKind.TimberDeck,
            new(0.90, 0.85, 0.95, $"{Ideal} (planed oak 0.90); spread our choice"),
            new(0.70, 0.50, 0.85, $"weathered boards 0.15-0.50 {Memory}"),
            new(535, 394, 552, $"{Oke} (dense wood); {Skat} (softwood 394, hardwood 552)")),
        Entry(SurfaceKind.RubberTile,
            new(0.95, 0.90, 0.98, $"{Pyrometer} (0.95); spread our choice"),
            new(0.90, 0.70, 0.95, $"dark tiles {Memory}"),
            new(980, 612, 980, $"{Cibse} (tiles 980, rubber 612)")),
        Entry(SurfaceKind.MetalGrate,
            new(0.79, 0.07, 0.90, $"{Ideal} (oxidised 0.79, polished 0.07)"),
            new(0.75, 0.40, 0.90, $"weathered steel {Memory}"),
            new(12980, 7838, 14475, $"{Cibse} (steel 12980, stainless 7838); {Oke} (14475)")),
    }.ToDictionary(p => p.Kind);

    /// <summary>The values of a kind.</summary>
    /// <param name="kind">The kind; <see cref="SurfaceKind.Unknown"/> is taken as asphalt, the hottest of the common ones.</param>
    /// <returns>The values, with spread and source.</returns>
    /// <exception cref="ArgumentOutOfRangeException">There is no such kind.</exception>
    public static SurfaceProperties Of(SurfaceKind kind) =>
        kind == SurfaceKind.Unknown ? Entries[SurfaceKind.Asphalt] with { Kind = kind }
        : Entries.TryGetValue(kind, out var found) ? found
        : throw new ArgumentOutOfRangeException(nameof(kind), kind, $"there is no surface kind {kind}");

    private static SurfaceProperties Entry(
        SurfaceKind kind, SourcedValue emissivity, SourcedValue absorptance, SourcedValue effusivity) =>
        new(kind, emissivity, absorptance, effusivity);
}
