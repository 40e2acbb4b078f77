namespace PavementWatch.Core.Surfaces;

/// <summary>What a kind of surface does with heat.</summary>
/// <param name="Kind">The kind.</param>
/// <param name="EmissivityFraction">[fraction] Emissivity at 8–14 µm, what an infrared thermometer sees; 0 to 1.</param>
/// <param name="AbsorptanceFraction">[fraction] Share of sunlight taken in, 1 − albedo; 0 to 1.</param>
/// <param name="EffusivityWattRootSecondsPerSquareMeterKelvin">[W·s½/(m²·K)] √(kρc): how hard it presses its temperature on what touches it.</param>
public sealed record SurfaceProperties(
    SurfaceKind Kind,
    SourcedValue EmissivityFraction,
    SourcedValue AbsorptanceFraction,
    SourcedValue EffusivityWattRootSecondsPerSquareMeterKelvin);
