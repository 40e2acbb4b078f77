using System.Globalization;
using PavementWatch.Core.Agreement;
using PavementWatch.Core.Quantities;
using PavementWatch.Core.Team;
using PavementWatch.Dashboards.Setup;
using PavementWatch.Dashboards.Texts;

namespace PavementWatch.Dashboards.Analyst;

/// <summary>What the analyst asks of checks, as typed into a form.</summary>
internal static class ThresholdEntry
{
    private const int MostPairs = 1000;

    /// <summary>Reads a form.</summary>
    /// <param name="typed">What stands in a field of that name.</param>
    /// <param name="unit">In what differences are typed.</param>
    /// <returns>What is asked, or why it cannot be read, in a plain sentence.</returns>
    public static (AgreementThresholds? Asked, string? Fault) Read(Func<string, string?> typed, TemperatureUnit unit)
    {
        double Number(string name) => SetupText.Number(typed(name)) ?? double.NaN;
        double Kelvin(string name) => Differences.From(Number(name), unit);
        try
        {
            return (new AgreementThresholds
            {
                MostBiasKelvin = Kelvin("bias"),
                MostDifferenceKelvin = Kelvin("limit"),
                LeastPairs = Number("pairs") is >= 0 and <= MostPairs and var pairs && double.IsInteger(pairs) ? (int)pairs : 0,
                LeastSpanKelvin = Kelvin("span"),
                ThermometerAccuracyKelvin = Kelvin("accuracy"),
            }, null);
        }
        catch (ArgumentOutOfRangeException e)
        {
            return (null, e.ParamName switch
            {
                nameof(AgreementThresholds.MostBiasKelvin) => $"Largest bias is “{typed("bias")}”, expected a number over 0.",
                nameof(AgreementThresholds.MostDifferenceKelvin) => $"Furthest limit is “{typed("limit")}”, expected a number over 0.",
                nameof(AgreementThresholds.LeastPairs) => $"Fewest checks is “{typed("pairs")}”, expected {BlandAltman.LeastPairs} to {MostPairs}, a whole number.",
                nameof(AgreementThresholds.ThermometerAccuracyKelvin) =>
                    $"What the thermometer may be off is “{typed("accuracy")}”, expected {Least(QuantityRanges.ThermometerAccuracy, unit)} to {Text(QuantityRanges.ThermometerAccuracy.Most, unit)} {Differences.Symbol(unit)}: no thermometer is exact; take what its data sheet says.",
                _ => $"Span is “{typed("span")}”, expected a number over 0.",
            });
        }
    }

    // In tenths that are not under it in the other unit.
    private static string Least(QuantityRange kelvin, TemperatureUnit unit) =>
        (Math.Ceiling(10 * Differences.In(kelvin.Least, unit)) / 10).ToString("0.#", CultureInfo.InvariantCulture);

    /// <summary>A difference as it stands in the form.</summary>
    public static string Text(double kelvin, TemperatureUnit unit) => Differences.In(kelvin, unit).ToString("0.##", CultureInfo.InvariantCulture);
}
