namespace PavementWatch.Core.Surfaces;

/// <summary>The wavelengths an infrared thermometer sees.</summary>
public enum InfraredBand
{
    /// <summary>5.5 to 14 µm: the filter of an MLX90614 (its data sheet).</summary>
    Wide = 0,

    /// <summary>8 to 14 µm, the window of the air: most hand-held thermometers.</summary>
    Window,
}
