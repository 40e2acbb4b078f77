namespace PavementWatch.Core.Contact;

/// <summary>The temperature between two bodies that touch, which is what a hand feels; never used to relax a limit.</summary>
/// <remarks>
/// Source: two semi-infinite bodies, T_c = (e₁T₁ + e₂T₂)/(e₁ + e₂); any heat-transfer text, e.g. Incropera and DeWitt,
/// transient conduction, interfacial contact. Holds for the first seconds, both bodies thick, contact perfect.
/// </remarks>
public static class ContactTemperature
{
    /// <summary>[°C] Human skin before contact (used with the properties below in several public calculations).</summary>
    public const double SkinCelsius = 33;

    /// <summary>[W·s½/(m²·K)] Human skin: k 0.37 W/(m·K), ρ 1100 kg/m³, c 3400 J/(kg·K), as in several public codes. Paws: none published.</summary>
    public static readonly double SkinEffusivity = Effusivity(0.37, 1100, 3400);

    /// <summary>The temperature at the interface.</summary>
    /// <param name="surfaceCelsius">[°C] The ground, before contact.</param>
    /// <param name="surfaceEffusivity">[W·s½/(m²·K)] The ground's effusivity; over 0, finite.</param>
    /// <param name="skinCelsius">[°C] The skin, before contact; 33 unless given.</param>
    /// <param name="skinEffusivity">[W·s½/(m²·K)] The skin's effusivity; over 0, finite; human unless given.</param>
    /// <returns>[°C] Between the two temperatures, nearer to that of the body with the larger effusivity.</returns>
    /// <exception cref="ArgumentOutOfRangeException">A temperature is not finite, or an effusivity not over 0.</exception>
    public static double Celsius(
        double surfaceCelsius, double surfaceEffusivity, double skinCelsius = SkinCelsius, double? skinEffusivity = null)
    {
        var (ground, skin) = (Over0(surfaceEffusivity), Over0(skinEffusivity ?? SkinEffusivity));
        return ((ground * Finite(surfaceCelsius)) + (skin * Finite(skinCelsius))) / (ground + skin);
    }

    /// <summary>Thermal effusivity √(k·ρ·c).</summary>
    /// <param name="conductivityWattsPerMeterKelvin">[W/(m·K)] k; over 0.</param>
    /// <param name="densityKilogramsPerCubicMeter">[kg/m³] ρ; over 0.</param>
    /// <param name="heatCapacityJoulesPerKilogramKelvin">[J/(kg·K)] c; over 0.</param>
    /// <returns>[W·s½/(m²·K)] The effusivity.</returns>
    /// <exception cref="ArgumentOutOfRangeException">A value is not over 0, or not finite.</exception>
    public static double Effusivity(
        double conductivityWattsPerMeterKelvin, double densityKilogramsPerCubicMeter, double heatCapacityJoulesPerKilogramKelvin) =>
        Math.Sqrt(
            Over0(conductivityWattsPerMeterKelvin) * Over0(densityKilogramsPerCubicMeter) * Over0(heatCapacityJoulesPerKilogramKelvin));

    private static double Over0(double value) =>
        value > 0 && double.IsFinite(value)
            ? value
            : throw new ArgumentOutOfRangeException(nameof(value), value, $"found {value}, expected a finite number over 0");

    private static double Finite(double celsius) =>
        double.IsFinite(celsius)
            ? celsius
            : throw new ArgumentOutOfRangeException(nameof(celsius), celsius, $"found {celsius}, expected a finite temperature");
}
