namespace PavementWatch.Core.Surfaces;

/// <summary>What the ground is made of. Written in kebab case outside: <c>concrete-pale</c>.</summary>
public enum SurfaceKind
{
    /// <summary>Not known; treated as the hottest kind.</summary>
    Unknown = 0,

    /// <summary>Asphalt road or path.</summary>
    Asphalt,

    /// <summary>Pale or white concrete.</summary>
    ConcretePale,

    /// <summary>Ordinary grey concrete.</summary>
    ConcreteGrey,

    /// <summary>Brick or clay pavers.</summary>
    Brick,

    /// <summary>Stone slabs or setts.</summary>
    Stone,

    /// <summary>Loose sand.</summary>
    Sand,

    /// <summary>Loose gravel.</summary>
    Gravel,

    /// <summary>Bare soil.</summary>
    Soil,

    /// <summary>Living grass.</summary>
    Grass,

    /// <summary>Synthetic grass.</summary>
    ArtificialTurf,

    /// <summary>Timber boards.</summary>
    TimberDeck,

    /// <summary>Rubber play-ground tiles.</summary>
    RubberTile,

    /// <summary>Steel gratings and covers.</summary>
    MetalGrate,
}
