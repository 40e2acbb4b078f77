using System.Text.Json;
using PavementWatch.Core.Surfaces;

namespace PavementWatch.Dashboards.Cards;

/// <summary>Surface kinds as people read them.</summary>
internal static class SurfaceNames
{
    /// <summary>E.g. <c>pale concrete</c>.</summary>
    public static string Of(SurfaceKind kind) => kind switch
    {
        SurfaceKind.Unknown => "unknown surface",
        SurfaceKind.ConcretePale => "pale concrete",
        SurfaceKind.ConcreteGrey => "grey concrete",
        SurfaceKind.RubberTile => "rubber tiles",
        SurfaceKind.MetalGrate => "metal grate",
        _ => JsonNamingPolicy.KebabCaseLower.ConvertName(kind.ToString()).Replace('-', ' '),
    };
}
