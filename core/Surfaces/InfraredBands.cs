using System.Diagnostics.CodeAnalysis;

namespace PavementWatch.Core.Surfaces;

/// <summary>What a black body sends out in the wavelengths an infrared thermometer sees, and how hot it is by that.</summary>
/// <remarks>
/// Planck's law, integrated in closed form: the share of σT⁴ at wavelengths up to λ is
/// 15/π⁴ · Σ e^(−nx)/n · (x³ + 3x²/n + 6x/n² + 6/n³) over n = 1, 2, … with x = c₂/(λT). Howell, Mengüç and Siegel, Thermal
/// Radiation Heat Transfer, 6th ed. 2016, chapter 1, from memory; a test holds it against a sum over Planck's law.
/// </remarks>
public static class InfraredBands
{
    /// <summary>[µm] Where the window of the air begins.</summary>
    public const double WindowFromMicrometers = 8;

    private const double WideFromMicrometers = 5.5;
    private const double ToMicrometers = 14;

    // [µm·K] Second radiation constant, from the exact constants of the SI of 2019.
    private const double SecondRadiationConstant = 14387.768775;
    private const double ZeroCelsiusAbsoluteKelvin = 273.15;

    // Colder than anything on earth; keeps the powers away from zero.
    private const double ColdestAbsoluteKelvin = 100;
    private const double ColdestCelsius = ColdestAbsoluteKelvin - ZeroCelsiusAbsoluteKelvin;
    private const int Terms = 24;

    private static readonly Dictionary<string, InfraredBand> Bands = new(StringComparer.Ordinal)
    {
        ["5.5-14"] = InfraredBand.Wide,
        ["8-14"] = InfraredBand.Window,
    };

    /// <summary>The bands as settings name them, in µm.</summary>
    public static IReadOnlyCollection<string> Names => Bands.Keys;

    /// <summary>Reads a band as settings name it.</summary>
    /// <param name="micrometers">E.g. <c>8-14</c>.</param>
    /// <param name="band">The band.</param>
    /// <returns>Whether there is such a band.</returns>
    public static bool TryParse([NotNullWhen(true)] string? micrometers, out InfraredBand band)
    {
        band = default;
        return micrometers is not null && Bands.TryGetValue(micrometers, out band);
    }

    /// <summary>What a black body sends out in a band.</summary>
    /// <param name="band">The band.</param>
    /// <param name="celsius">[°C] The body; −173.15 and up, finite.</param>
    /// <returns>[K⁴] Its power over σ; over 0, rises with the temperature.</returns>
    /// <exception cref="ArgumentOutOfRangeException">The temperature is not a number or outside its range.</exception>
    public static double PowerKelvin4(InfraredBand band, double celsius) =>
        band == InfraredBand.Window ? BelowWindowAndWindow(celsius).Window : Sum(BelowWindowAndWindow(celsius));

    /// <summary>How hot a black body is that sends out so much in a band: the inverse of <see cref="PowerKelvin4"/>.</summary>
    /// <param name="band">The band.</param>
    /// <param name="powerKelvin4">[K⁴] Its power over σ; finite.</param>
    /// <returns>[°C] Its temperature; −173.15 for no more than a body of that sends out.</returns>
    /// <exception cref="ArgumentOutOfRangeException">The power is not finite.</exception>
    public static double Celsius(InfraredBand band, double powerKelvin4)
    {
        if (!double.IsFinite(powerKelvin4))
            throw new ArgumentOutOfRangeException(nameof(powerKelvin4), powerKelvin4, "expected a finite power");
        if (powerKelvin4 <= PowerKelvin4(band, ColdestCelsius))
            return ColdestCelsius;

        // Over 1/T the logarithm of the power is nearly a straight line (Wien), so that a secant ends within a few steps.
        var wanted = Math.Log(powerKelvin4);
        double Missing(double inverse) => Math.Log(PowerKelvin4(band, (1 / inverse) - ZeroCelsiusAbsoluteKelvin)) - wanted;
        var (before, now) = (1 / 350.0, 1 / 280.0);
        var (missedBefore, missed) = (Missing(before), Missing(now));
        for (var i = 0; i < 60 && missed != missedBefore && Math.Abs(missed) > 1e-14; i++)
        {
            // No steps to the far side of nothing, nor colder than is allowed.
            var next = Math.Clamp(now - (missed * (now - before) / (missed - missedBefore)), now / 2, 1 / ColdestAbsoluteKelvin);
            (before, missedBefore) = (now, missed);
            (now, missed) = (next, Missing(next));
        }

        return (1 / now) - ZeroCelsiusAbsoluteKelvin;
    }

    /// <summary>What a black body sends out from 5.5 to 8 µm and from 8 to 14 µm.</summary>
    /// <param name="celsius">[°C] The body; −173.15 and up, finite.</param>
    /// <returns>[K⁴] Both powers over σ.</returns>
    /// <exception cref="ArgumentOutOfRangeException">The temperature is not a number or outside its range.</exception>
    internal static (double Below, double Window) BelowWindowAndWindow(double celsius)
    {
        var absoluteKelvin = celsius + ZeroCelsiusAbsoluteKelvin;
        if (!(absoluteKelvin >= ColdestAbsoluteKelvin - 1e-9 && double.IsFinite(absoluteKelvin)))
            throw new ArgumentOutOfRangeException(nameof(celsius), celsius, $"expected {ColdestCelsius} °C and up");
        var square = absoluteKelvin * absoluteKelvin;
        var middle = ShareUpTo(WindowFromMicrometers * absoluteKelvin);
        return (
            square * square * (middle - ShareUpTo(WideFromMicrometers * absoluteKelvin)),
            square * square * (ShareUpTo(ToMicrometers * absoluteKelvin) - middle));
    }

    private static double Sum((double Below, double Window) parts) => parts.Below + parts.Window;

    private static double ShareUpTo(double micrometerKelvin)
    {
        var x = SecondRadiationConstant / micrometerKelvin;
        double sum = 0;
        for (var n = 1; n <= Terms; n++)
        {
            var term = Math.Exp(-n * x) / n * ((x * x * x) + (3 * x * x / n) + (6 * x / (n * n)) + (6.0 / (n * n * n)));
            sum += term;
            if (term < 1e-17 * sum)
                break;
        }

        return 15 / (Math.PI * Math.PI * Math.PI * Math.PI) * sum;
    }
}
