namespace PavementWatch.Core.Quantities;

/// <summary>
/// What each quantity may be, wherever it comes from: the wire, a file, a form, an option, a command. Constants stand
/// beside a range where an attribute needs them.
/// </summary>
/// <remarks>
/// What is measured: wide enough for all that is real where people walk, narrow enough to leave out what a sensor says
/// when it fails (an MLX90614 −70 °C and less, a DS18B20 −127 °C). Common practice, no source, unless said. What a
/// function's own formula holds for, and what a sensor's data sheet gives, stands with the function and the sensor.
/// </remarks>
public static class QuantityRanges
{
    /// <summary>[°C] Surface of the ground; the hottest ground in sun in the reference is 93 °C (artificial turf).</summary>
    public static readonly QuantityRange Surface = new(-60, 120, "°C");

    /// <summary>[°C] Air in the shade.</summary>
    public static readonly QuantityRange Air = new(-60, 60, "°C");

    /// <summary>[°C] An infrared sensor's own body (MLX90614 data sheet).</summary>
    public static readonly QuantityRange SensorBody = new(-40, 125, "°C");

    /// <summary>[%] Relative humidity.</summary>
    public static readonly QuantityRange Humidity = new(0, 100, "%");

    /// <summary>[lx] Illuminance; full sun is about 120,000.</summary>
    public static readonly QuantityRange Light = new(0, 200_000, "lx");

    /// <summary>[V] A gateway's supply.</summary>
    public static readonly QuantityRange Supply = new(0, 60, "V");

    /// <summary>[K] How far the samples of one reading lay apart, one standard deviation.</summary>
    public static readonly QuantityRange Spread = new(0, 100, "K");

    /// <summary>[m/s] Wind.</summary>
    public static readonly QuantityRange Wind = new(0, 120, "m/s");

    /// <summary>[W/m²] Sun on level ground. Instruments read a little below nothing at night; whoever takes it in takes that as nothing.</summary>
    public static readonly QuantityRange Solar = new(-20, 2000, "W/m²");

    /// <summary>[mm] Rain that fell in an interval; more than falls in an hour anywhere.</summary>
    public static readonly QuantityRange Rain = new(0, 500, "mm");

    /// <summary>[°C] Coldest <see cref="Limit"/>.</summary>
    public const double LimitLeastCelsius = 30;

    /// <summary>[°C] Hottest <see cref="Limit"/>: skin is hurt within about a minute there (ASTM C1055), a limit above protects nobody.</summary>
    public const double LimitMostCelsius = 52;

    /// <summary>[°C] The surface temperature from which a spot is too hot.</summary>
    public static readonly QuantityRange Limit = new(LimitLeastCelsius, LimitMostCelsius, "°C");

    /// <summary>[°C] Coldest <see cref="ColdLimit"/>: at freezing water on the ground is ice, a limit below would keep that from walkers.</summary>
    public const double ColdLimitLeastCelsius = 0;

    /// <summary>[°C] Warmest <see cref="ColdLimit"/>.</summary>
    public const double ColdLimitMostCelsius = 5;

    /// <summary>[°C] The surface temperature at and under which walkers are told of the cold.</summary>
    public static readonly QuantityRange ColdLimit = new(ColdLimitLeastCelsius, ColdLimitMostCelsius, "°C");

    /// <summary>[fraction] Least <see cref="SurfaceEmissivity"/>.</summary>
    public const double SurfaceEmissivityLeastFraction = 0.1;

    /// <summary>[fraction] Greatest <see cref="SurfaceEmissivity"/>.</summary>
    public const double SurfaceEmissivityMostFraction = 1;

    /// <summary>[fraction] Emissivity of the ground of a spot: blank metal to a black body.</summary>
    public static readonly QuantityRange SurfaceEmissivity = new(SurfaceEmissivityLeastFraction, SurfaceEmissivityMostFraction, "");

    /// <summary>[fraction] What a hand-held thermometer's emissivity is set to, whatever it looks at: as far as such instruments go.</summary>
    public static readonly QuantityRange ThermometerEmissivity = new(0.1, 1, "");

    /// <summary>[K] How far a hand-held thermometer may be off itself, either way: none is exact, and one that is worse tells nothing of a sensor.</summary>
    public static readonly QuantityRange ThermometerAccuracy = new(0.1, 5, "K");

    /// <summary>[fraction] Least <see cref="OpenSky"/>.</summary>
    public const double OpenSkyLeastFraction = 0;

    /// <summary>[fraction] Greatest <see cref="OpenSky"/>.</summary>
    public const double OpenSkyMostFraction = 1;

    /// <summary>[fraction] How much of the sky's half sphere a surface sees, 0 under a roof.</summary>
    public static readonly QuantityRange OpenSky = new(OpenSkyLeastFraction, OpenSkyMostFraction, "");

    /// <summary>[°] North positive.</summary>
    public static readonly QuantityRange Latitude = new(-90, 90, "degrees");

    /// <summary>[°] East positive.</summary>
    public static readonly QuantityRange Longitude = new(-180, 180, "degrees");

    /// <summary>[m] How near a walker must be to hear of a spot.</summary>
    public static readonly QuantityRange Radius = new(10, 50_000, "m");

    /// <summary>[K] Least <see cref="Easing"/>.</summary>
    public const double EasingLeastKelvin = 0;

    /// <summary>[K] Greatest <see cref="Easing"/>.</summary>
    public const double EasingMostKelvin = 20;

    /// <summary>[K] How far under the limit a spot eases.</summary>
    public static readonly QuantityRange Easing = new(EasingLeastKelvin, EasingMostKelvin, "K");
}
