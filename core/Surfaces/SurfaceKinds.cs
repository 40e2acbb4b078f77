using System.Diagnostics.CodeAnalysis;

namespace PavementWatch.Core.Surfaces;

/// <summary>Names of surface kinds: for files and addresses, and for people.</summary>
public static class SurfaceKinds
{
    private static readonly Dictionary<SurfaceKind, (string Slug, string Name)> Names = new()
    {
        [SurfaceKind.Unknown] = ("unknown", "unknown surface"),
        [SurfaceKind.Asphalt] = ("asphalt", "asphalt"),
        [SurfaceKind.ConcretePale] = ("concrete-pale", "pale concrete"),
        [SurfaceKind.ConcreteGrey] = ("concrete-grey", "grey concrete"),
        [SurfaceKind.Brick] = ("brick", "brick"),
        [SurfaceKind.Stone] = ("stone", "stone"),
        [SurfaceKind.Sand] = ("sand", "sand"),
        [SurfaceKind.Gravel] = ("gravel", "gravel"),
        [SurfaceKind.Soil] = ("soil", "bare soil"),
        [SurfaceKind.Grass] = ("grass", "grass"),
        [SurfaceKind.ArtificialTurf] = ("artificial-turf", "artificial turf"),
        [SurfaceKind.TimberDeck] = ("timber-deck", "timber deck"),
        [SurfaceKind.RubberTile] = ("rubber-tile", "rubber tiles"),
        [SurfaceKind.MetalGrate] = ("metal-grate", "metal grate"),
    };

    /// <summary>Every kind that a spot can be made of, without <see cref="SurfaceKind.Unknown"/>.</summary>
    public static IReadOnlyList<SurfaceKind> All { get; } =
        [.. Enum.GetValues<SurfaceKind>().Where(k => k != SurfaceKind.Unknown)];

    /// <summary>The kind in files and addresses.</summary>
    /// <param name="kind">The kind.</param>
    /// <returns>Kebab case, e.g. <c>concrete-pale</c>.</returns>
    /// <exception cref="ArgumentOutOfRangeException">There is no such kind.</exception>
    public static string Slug(SurfaceKind kind) => Find(kind).Slug;

    /// <summary>The kind for people.</summary>
    /// <param name="kind">The kind.</param>
    /// <returns>Lower-case English, e.g. <c>pale concrete</c>.</returns>
    /// <exception cref="ArgumentOutOfRangeException">There is no such kind.</exception>
    public static string Name(SurfaceKind kind) => Find(kind).Name;

    /// <summary>Reads a kind as <see cref="Slug"/> writes it; <c>unknown</c> is not read.</summary>
    /// <param name="slug">The text.</param>
    /// <param name="kind">The kind, or <see cref="SurfaceKind.Unknown"/>.</param>
    /// <returns>Whether the text is a kind.</returns>
    public static bool TryParse([NotNullWhen(true)] string? slug, out SurfaceKind kind)
    {
        kind = All.FirstOrDefault(k => Names[k].Slug == slug);
        return kind != SurfaceKind.Unknown;
    }

    private static (string Slug, string Name) Find(SurfaceKind kind) =>
        Names.TryGetValue(kind, out var names)
            ? names
            : throw new ArgumentOutOfRangeException(nameof(kind), kind, $"there is no surface kind {kind}");
}
